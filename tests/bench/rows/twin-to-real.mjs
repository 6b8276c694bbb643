// The committed firmware on the emulated chip in its bench at full load, against the time that it emulates.
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { parseHex } from '../../../dist/firmware/twin/chip/hex.js';
import { builtIn, readScenario } from '../../../dist/firmware/twin/scenario.js';
import { noTruth } from '../../../dist/firmware/twin/truth.js';
import { Board } from '../../../dist/firmware/twin/wiring/board.js';

/** `peer` null: nothing is run for it, real time is 1 by its definition. */
export const row = { name: 'twin, depth board, full load', unit: 's/s', peer: null, target: 5 };

const SLICE_s = 1;

export function prepare() {
  const scenario = readScenario(builtIn('full-load'));
  let bytes = 0;
  const board = new Board({
    scenario,
    seed: scenario.seed,
    flash: parseHex(readFileSync(fileURLToPath(new URL('../../../firmware/release/smallbrake.hex', import.meta.url)), 'latin1')),
    truth: noTruth,
    out: (sent) => (bytes += sent.length),
  });
  // A board that does not yet know who it is says nothing else.
  let t_s = 0;
  return () => {
    const before = bytes;
    t_s += SLICE_s;
    board.advance(t_s);
    if (t_s > 3 && bytes - before < 8000) throw new Error(`the board sent ${bytes - before} bytes in a second: that is no full load`);
    return SLICE_s;
  };
}

// The board's lines without a chip at full load, against the time that they stand for.
import { WireBoard } from '../../../dist/firmware/twin/depth/wire.js';
import { builtIn, readScenario } from '../../../dist/firmware/twin/scenario.js';

/** `peer` null: nothing is run for it, real time is 1 by its definition. */
export const row = { name: 'twin, depth wire, full load', unit: 's/s', peer: null, target: 1000 };

const SLICE_s = 10;

export function prepare() {
  const scenario = readScenario(builtIn('full-load'));
  let bytes = 0;
  const board = new WireBoard({ scenario, seed: scenario.seed, truth: null, out: (sent) => (bytes += sent.length) });
  let t_s = 0;
  return () => {
    const before = bytes;
    board.advance((t_s += SLICE_s));
    if (bytes - before < 8000 * SLICE_s - 8000) throw new Error(`the board sent ${bytes - before} bytes in ${SLICE_s} s: that is no full load`);
    return SLICE_s;
  };
}

import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { decodeLine } from '../../../protocol/codec.js';
import type { BoardMessage, MessageOf } from '../../../protocol/messages.js';
import { CYCLES_PER_TICK } from '../../../protocol/messages.js';
import { parseHex } from '../../../firmware/twin/chip/hex.js';
import { packageRoot } from '../../../host/package_root.js';
import type { Scenario } from '../../../firmware/twin/scenario.js';
import type { TruthRecord } from '../../../firmware/twin/truth.js';
import { Board } from '../../../firmware/twin/wiring/board.js';

export const hexFile = join(packageRoot(), 'firmware', 'release', 'smallbrake.hex');

type Of<K extends TruthRecord['kind']> = Extract<TruthRecord, { kind: K }>;

/** The committed program in a bench, with all that it said and all that was. */
export class Bench {
  readonly truth: TruthRecord[] = [];
  readonly board: Board;
  #text = '';

  constructor(scenario: Scenario, seed = 1, eeprom?: Uint8Array) {
    this.board = new Board({
      scenario,
      seed,
      ...(eeprom && { eeprom }),
      flash: parseHex(readFileSync(hexFile, 'latin1')),
      truth: { record: (r) => this.truth.push(r) },
      out: (bytes) => (this.#text += Buffer.from(bytes).toString('latin1')),
    });
  }

  of<K extends TruthRecord['kind']>(kind: K): Of<K>[] {
    return this.truth.filter((r): r is Of<K> => r.kind === kind);
  }

  /** Lines that came out of the cable, the last unfinished one left out. */
  lines(): string[] {
    return this.#text.split('\n').slice(0, -1);
  }

  messages<N extends BoardMessage['name']>(name: N): MessageOf<N>[] {
    return this.lines()
      .map((line) => decodeLine(line))
      .filter((m): m is Extract<BoardMessage, { name: N }> => typeof m !== 'string' && m.name === name) as MessageOf<N>[];
  }
}

/** Clock cycle at which the board's tick was 0, from pairs that belong together, and how far the worst pair is from it. */
export function tickFit(pairs: readonly { cycle: number; tick: number }[]): { zero_cycle: number; worst_tick: number } {
  const zeros = pairs.map((p) => p.cycle - p.tick * CYCLES_PER_TICK).sort((a, b) => a - b);
  const zero_cycle = zeros[Math.floor(zeros.length / 2)] ?? 0;
  return { zero_cycle, worst_tick: Math.max(...zeros.map((z) => Math.abs(z - zero_cycle) / CYCLES_PER_TICK)) };
}

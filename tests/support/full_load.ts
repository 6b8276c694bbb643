import { readFileSync } from 'node:fs';
import { join } from 'node:path';

import { Chip } from '../../firmware/twin/chip/chip.js';
import { parseHex } from '../../firmware/twin/chip/hex.js';
import { decodeLine, encodeLine } from '../../protocol/codec.js';
import type { Message } from '../../protocol/messages.js';
import { projectRoot } from './compile.js';
import { seeded } from './random.js';

export interface FullLoad {
  readonly chip: Chip;
  readonly messages: Message[];
  readonly badLines: string[];
  /** Cycle of every edge given to the pickup's pin. */
  readonly edges_cycle: number[];
  /** Cycle and count of every conversion given to the bridge's pins. */
  readonly conversions: { readonly cycle: number; readonly count: number }[];
  readonly questions: number;
  readonly wall_s: number;
}

export const releaseFlash = (): Uint8Array => parseHex(readFileSync(join(projectRoot, 'firmware/release/smallbrake.hex'), 'utf8'));

/**
 * The committed firmware on the emulated chip with everything it can be asked at once:
 * 400 edges and 80 conversions a second at phases that drift through each other, four
 * time questions a second, now and then a spoilt line.
 */
export function runFullLoad(seconds: number, seed = 1): FullLoad {
  const chip = new Chip({ flash: releaseFlash(), sramSeed: seed });
  const rnd = seeded(seed);
  const messages: Message[] = [];
  const badLines: string[] = [];
  let line = '';
  chip.onByte((byte) => {
    if (byte !== 0x0a) {
      line += String.fromCharCode(byte);
      return;
    }
    const m = decodeLine(line);
    if (typeof m === 'string') badLines.push(line);
    else messages.push(m);
    line = '';
  });

  const end_cycle = seconds * chip.clock_Hz;
  const edges_cycle: number[] = [];
  const edge = (cycle: number): void =>
    chip.at(cycle, () => {
      edges_cycle.push(cycle);
      chip.setInput('B', 0, 0);
      chip.at(cycle + 9000, () => chip.setInput('B', 0, 1));
      const next = cycle + 39_000 + Math.floor(rnd() * 2001);
      if (next < end_cycle - 160_000) edge(next);
    });
  chip.setInput('B', 0, 1);
  edge(1_000_000);

  const conversions: { cycle: number; count: number }[] = [];
  let word = 0;
  let pulses = 25;
  const convert = (cycle: number): void =>
    chip.at(cycle, () => {
      const count = Math.floor(rnd() * 2 ** 24) - 2 ** 23;
      conversions.push({ cycle, count });
      word = count & 0xffffff;
      pulses = 0;
      chip.setInput('D', 2, 0);
      const next = cycle + 199_000 + Math.floor(rnd() * 2001);
      if (next < end_cycle - 160_000) convert(next);
    });
  chip.setInput('D', 2, 1);
  chip.onOutput('D', 4, (level) => {
    if (level !== 1 || pulses >= 25) return;
    pulses++;
    chip.setInput('D', 2, pulses <= 24 && (word >> (24 - pulses)) & 1 ? 1 : pulses === 25 ? 1 : 0);
  });
  chip.watchHigh('D', 4);
  convert(1_100_000);

  let questions = 0;
  const ask = (cycle: number): void =>
    chip.at(cycle, () => {
      const spoilt = questions % 50 === 49 ? 'Q0000 0000\n' : '';
      chip.receiveAll(Buffer.from(encodeLine({ name: 'ask_time', seq: questions++ & 0xffff }) + spoilt, 'latin1'));
      const next = cycle + 3_000_000 + Math.floor(rnd() * 2_000_000);
      if (next < end_cycle - 2_000_000) ask(next);
    });
  ask(2_000_000);

  const start = process.hrtime.bigint();
  chip.runUntil(end_cycle);
  const wall_s = Number(process.hrtime.bigint() - start) / 1e9;
  return { chip, messages, badLines, edges_cycle, conversions, questions, wall_s };
}

/**
 * Worst difference, in ticks, between reported ticks and floor((cycle - c0) / 8) for
 * the one c0 that suits all of them best: the timer's start and the capture's delay
 * are constants, so one constant must explain every edge.
 */
export function worstTickError(ticks: readonly number[], cycles: readonly number[]): number {
  let best = Infinity;
  const first = (cycles[0] ?? 0) - 8 * (ticks[0] ?? 0);
  for (let c0 = first - 16; c0 <= first + 16; c0++) {
    let worst = 0;
    for (let i = 0; i < ticks.length; i++) {
      const d = Math.abs((ticks[i] ?? NaN) - Math.floor(((cycles[i] ?? NaN) - c0) / 8));
      if (!(d <= worst)) worst = d;
    }
    best = Math.min(best, worst);
  }
  return best;
}

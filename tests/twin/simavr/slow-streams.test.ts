import { join } from 'node:path';

import { beforeAll, describe, expect, it } from 'vitest';

import { decodeLine } from '../../../protocol/codec.js';
import { CYCLES_PER_TICK, WATER_SAMPLES } from '../../../protocol/messages.js';
import type { Message, MessageName, MessageOf } from '../../../protocol/messages.js';
import { projectRoot } from '../../support/compile.js';
import { seeded } from '../../support/random.js';
import { hasSimavr } from './build.js';
import { chipEmulator, peerEmulator, timerZero_cycle, worst } from './edges.js';
import type { Emulator } from './edges.js';
import { pulse } from './emulators.js';
import type { Course } from './emulators.js';

const hex = join(projectRoot, 'firmware', 'release', 'smallbrake.hex');
const s = 16_000_000;
const SECONDS = 12;
/** The longest handler delays a date: the interrupts-off budget of the board, in ticks. */
const HANDLER_ticks = 160 / CYCLES_PER_TICK;
/** Two converters may part a voltage that stands on a step: one step in every conversion. */
const SUM_steps = WATER_SAMPLES;

function messagesOf(course: Course): Message[] {
  const lines = Buffer.from(course.bytes).toString('latin1').split('\n').slice(0, -1);
  return lines.map((line) => {
    const message = decodeLine(line);
    if (typeof message === 'string') throw new Error(`${line}: ${message}`);
    return message;
  });
}

const of = <N extends MessageName>(messages: readonly Message[], name: N): MessageOf<N>[] =>
  messages.filter((m) => m.name === name) as unknown as MessageOf<N>[];

describe.skipIf(!hasSimavr('simavr: hot end, coolant, flow and button'))('hot end, coolant, flow and button on both emulators', { timeout: 60_000 }, () => {
  const rnd = seeded(11);
  // All in cycles since the timer stood at 0, which the two do at different ones.
  const falls_cycle = Array.from({ length: 35 * (SECONDS - 1) }, (_, n) => Math.round((0.5 + n / 35) * s + rnd() * 0.01 * s));
  const presses_cycle = [1.3, 2.7, 4.05, 7.2].map((t) => Math.round(t * s));
  // Changed half-way between fetches at multiples of a quarter second, so that both see the same ones.
  const words = Array.from({ length: 4 * SECONDS }, (_, n) => ({ from_cycle: Math.round((n / 4 + 0.125) * s), word: Math.floor(rnd() * 2 ** 32) }));
  const volts = Array.from({ length: SECONDS }, () => [rnd() * 5, rnd() * 5, rnd() * 5, rnd() * 5]);

  /** Down and up again, each with three bounces. */
  const press = (cycle: number): string[] =>
    [cycle, cycle + 2_000_000].flatMap((at, up) => Array.from({ length: 7 }, (_, n) => `${at + n * 7000} pin D 5 ${n % 2 === 0 ? up : 1 - up}`));

  function day(emulator: Emulator): Message[] {
    const zero_cycle = timerZero_cycle(emulator, hex, (course) => of(messagesOf(course), 'edge').map((m) => m.tick));
    const shifted = (line: string): string => line.replace(/^\d+/, (cycle) => String(Number(cycle) + zero_cycle));
    const script = [
      ...falls_cycle.flatMap((fall) => pulse('D 3', fall, 100_000).trimEnd().split('\n')),
      ...presses_cycle.flatMap(press),
      ...volts.flatMap((v, second) => v.map((volt, channel) => `${second * s + 100} adc ${channel} ${volt.toFixed(4)}`)),
      `${SECONDS * s} end`,
    ]
      .map(shifted)
      .sort((a, b) => parseInt(a, 10) - parseInt(b, 10))
      .join('\n');
    return messagesOf(emulator.run({ hex, script, words: words.map((w) => ({ ...w, from_cycle: w.from_cycle + zero_cycle })) }));
  }

  let chip: Message[] = [];
  let peer: Message[] = [];
  beforeAll(() => {
    chip = day(chipEmulator);
    peer = day(peerEmulator);
  }, 60_000);

  it('fetches the same words', () => {
    const [onChip = [], onPeer = []] = [chip, peer].map((m) => of(m, 'hot').map((h) => h.word));
    expect(onChip.length).toBeGreaterThan(4 * SECONDS - 3);
    expect(onPeer).toEqual(onChip);
    expect(words.map((w) => w.word)).toEqual(expect.arrayContaining(onChip.slice(1)));
    expect(new Set(onChip).size).toBeGreaterThan(4 * SECONDS - 4);
  });

  it('sums the same voltages, to a step a conversion', () => {
    const sums = (m: MessageOf<'water'>): number[] => [m.in_sum, m.out_sum, m.skin_sum, m.spare_sum];
    const settled = (all: readonly Message[]): MessageOf<'water'>[] => of(all, 'water').filter((m) => (m.tick / 2e6) % 1 > 0.05 && (m.tick / 2e6) % 1 < 0.95);
    const onChip = settled(chip);
    const onPeer = settled(peer);
    expect(onChip.length).toBeGreaterThan(2 * SECONDS);
    expect(onPeer.length).toBe(onChip.length);
    for (const [i, m] of onChip.entries()) {
      const wished = volts[Math.floor(m.tick / 2e6)] ?? [];
      expect(worst(sums(m), wished.map((v) => WATER_SAMPLES * Math.floor((Number(v.toFixed(4)) / 5) * 1024)))).toBe(0);
      expect(worst(sums(m), sums(onPeer[i] as MessageOf<'water'>))).toBeLessThanOrEqual(SUM_steps);
      expect([m.in_spread, m.out_spread, m.skin_spread, m.spare_spread]).toEqual([0, 0, 0, 0]);
    }
  });

  it('counts every flow pulse and dates the last alike, within a handler', () => {
    for (const all of [chip, peer]) {
      const flows = of(all, 'flow');
      expect(flows.length).toBeGreaterThan(4 * SECONDS - 3);
      expect(flows.at(-1)?.pulses).toBeGreaterThan(35 * (SECONDS - 2));
      for (const m of flows) {
        // Counted a little after the tick, when the line is written: the two fetch at times of their own.
        const [at_tick = 0, later_tick = 0] = [0, 1000].map((after) => falls_cycle.filter((f) => f / CYCLES_PER_TICK <= m.tick + after).length);
        expect(m.pulses).toBeGreaterThanOrEqual(at_tick);
        expect(m.pulses).toBeLessThanOrEqual(later_tick);
        if (m.pulses === 0) continue;
        const late_ticks = m.pulse_tick - (falls_cycle[m.pulses - 1] ?? NaN) / CYCLES_PER_TICK;
        expect(late_ticks).toBeGreaterThan(-2);
        expect(late_ticks).toBeLessThan(HANDLER_ticks);
      }
    }
    expect(of(peer, 'flow')).toHaveLength(of(chip, 'flow').length);
  });

  it('hears one mark a press, dated alike within a handler', () => {
    const [onChip = [], onPeer = []] = [chip, peer].map((m) => of(m, 'mark').map((k) => k.tick));
    expect(worst(onChip, presses_cycle.map((c) => c / CYCLES_PER_TICK))).toBeLessThan(HANDLER_ticks);
    expect(worst(onChip, onPeer)).toBeLessThan(HANDLER_ticks);
  });
});

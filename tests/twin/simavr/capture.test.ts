import { describe, expect, it } from 'vitest';

import { CYCLES_PER_TICK } from '../../../protocol/messages.js';
import { buildProgram, hasSimavr } from './build.js';
import { aroundWrap, chipEmulator, edgesAtWraps, peerEmulator, pickup, timerZero_cycle, trueTicks, worst, WRAP_cycles } from './edges.js';
import type { Emulator } from './edges.js';
import type { Course } from './emulators.js';

const EDGES = 10_000;
const BOTH = [chipEmulator, peerEmulator];

const ticksOf = ({ bytes }: Course): number[] => Array.from({ length: bytes.length / 4 }, (_, n) => Buffer.from(bytes.slice(4 * n, 4 * n + 4)).readUInt32LE(0));

function dated(emulator: Emulator, hex: string, falls_cycle: readonly number[]): number[] {
  const at_cycle = timerZero_cycle(emulator, hex, ticksOf) + emulator.late_cycles;
  const falls = falls_cycle.map((fall) => fall + at_cycle);
  return ticksOf(emulator.run({ hex, script: `${pickup(falls)}${(falls.at(-1) ?? 0) + WRAP_cycles} end` }));
}

describe.skipIf(!hasSimavr('simavr: input capture'))('captured edges on both emulators', { timeout: 60_000 }, () => {
  it('have the same tick within one, half of them at the wrap', () => {
    const hex = buildProgram('capture');
    const falls_cycle = edgesAtWraps(EDGES, 1);
    const [chip = [], peer = []] = BOTH.map((emulator) => dated(emulator, hex, falls_cycle));
    expect(worst(chip, trueTicks(falls_cycle))).toBe(0);
    expect(worst(peer, trueTicks(falls_cycle))).toBeLessThanOrEqual(1);
    expect(worst(chip, peer)).toBeLessThanOrEqual(1);
    expect(chip).toHaveLength(EDGES);
    const { before, after } = aroundWrap(chip);
    expect(Math.min(before, after)).toBeGreaterThan(EDGES / 20);
    expect(before + after).toBeGreaterThanOrEqual(EDGES / 2);
  });

  it('are a whole wrap wrong in a program that forgets the pending overflow', () => {
    const hex = buildProgram('capture', 'WITHOUT_OVERFLOW_CHECK');
    const falls_cycle = edgesAtWraps(400, 2);
    for (const emulator of BOTH) expect(worst(dated(emulator, hex, falls_cycle), trueTicks(falls_cycle))).toBeGreaterThanOrEqual(65_535);
  });

  it('chip, by the datasheet (simavr has neither): dated four cycles late by the noise canceller, by a prescaler that runs from reset on', () => {
    // timerZero_cycle takes the four cycles for granted: with any other number this would not come out whole.
    expect(timerZero_cycle(chipEmulator, buildProgram('capture'), ticksOf) % CYCLES_PER_TICK).toBe(0);
  });
});

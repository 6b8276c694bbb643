import { CYCLES_PER_TICK } from '../../../protocol/messages.js';
import { seeded } from '../../support/random.js';
import { onChip, onPeer, pulse } from './emulators.js';
import type { Course, Stimulus } from './emulators.js';

export const WRAP_cycles = 65_536 * CYCLES_PER_TICK;
/**
 * Datasheet, section "Input Capture Unit": with the noise canceller an edge is dated
 * four cycles late. simavr has no canceller, so it is given its edges four cycles later.
 */
export const CANCELLER_cycles = 4;
const HALL = 'B 0';
const LOW_cycles = 9000;
const NEAR_cycles = 8;
const PROBES = 9;
const PROBE_cycles = 10_000 * CYCLES_PER_TICK + 1;
const FIRST_PROBE_cycle = 800_000;

/** One emulator, and how late the capture unit of the chip that it stands for dates an edge beyond what it does itself. */
export interface Emulator {
  readonly name: string;
  readonly run: (stimulus: Stimulus) => Course;
  readonly late_cycles: number;
}
export const chipEmulator: Emulator = { name: 'chip', run: onChip, late_cycles: 0 };
export const peerEmulator: Emulator = { name: 'simavr', run: onPeer, late_cycles: CANCELLER_cycles };

/**
 * Two pickup edges in every wrap of the timer, in cycles since timer 1 stood at 0: one
 * within -8..+8 cycles of its wrap, one anywhere else. Rising.
 */
export function edgesAtWraps(edges: number, seed: number): number[] {
  const rnd = seeded(seed);
  const falls_cycle: number[] = [];
  for (let wrap = 1; falls_cycle.length < edges; wrap++) {
    falls_cycle.push(wrap * WRAP_cycles - NEAR_cycles + Math.floor(rnd() * (2 * NEAR_cycles + 1)));
    falls_cycle.push(wrap * WRAP_cycles + 40_000 + Math.floor(rnd() * (WRAP_cycles - 80_000)));
  }
  return falls_cycle;
}

/** Script lines of falling and rising edges at the pickup's pin. */
export const pickup = (falls_cycle: readonly number[]): string => falls_cycle.map((cycle) => pulse(HALL, cycle, LOW_cycles)).join('');

/**
 * The cycle at which timer 1 stood at 0: where the program has started it, give or take
 * the prescaler, which runs from reset on in the chip and starts with the timer in
 * simavr. Told by a program's own dates: nine edges, each a cycle later in its tick than
 * the one before, leave one answer only.
 */
export function timerZero_cycle({ name, run, late_cycles }: Emulator, hex: string, ticksOf: (course: Course) => readonly number[]): number {
  const falls_cycle = Array.from({ length: PROBES }, (_, n) => FIRST_PROBE_cycle + n * PROBE_cycles);
  const end_cycle = FIRST_PROBE_cycle + (PROBES + 1) * PROBE_cycles;
  const ticks = ticksOf(run({ hex, script: `${pickup(falls_cycle.map((fall) => fall + late_cycles))}${end_cycle} end` }));
  const candidates: number[] = [];
  for (let zero_cycle = 0; zero_cycle < 100_000; zero_cycle++)
    if (worst(ticks, trueTicks(falls_cycle.map((fall) => fall - zero_cycle))) === 0) candidates.push(zero_cycle);
  if (candidates.length !== 1) throw new Error(`${name}: timer 1 may have started at any of [${candidates.join(' ')}], ticks ${ticks.join(' ')}`);
  return candidates[0] ?? NaN;
}

/** The datasheet's 32-bit tick of edges at these cycles since timer 1 stood at 0. */
export const trueTicks = (falls_cycle: readonly number[]): number[] =>
  falls_cycle.map((cycle) => Math.floor((cycle + CANCELLER_cycles) / CYCLES_PER_TICK));

/** Largest absolute difference; NaN where the lengths differ. */
export function worst(a: readonly number[], b: readonly number[]): number {
  return a.length !== b.length ? NaN : a.reduce((most, value, n) => Math.max(most, Math.abs(value - (b[n] ?? NaN))), 0);
}

/** How many ticks stand within a few counts of a wrap, before and after it. */
export function aroundWrap(ticks: readonly number[]): { readonly before: number; readonly after: number } {
  const low = ticks.map((tick) => tick % 65_536);
  return { before: low.filter((v) => v >= 65_532).length, after: low.filter((v) => v < 4).length };
}

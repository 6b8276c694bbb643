import { describe, expect, it } from 'vitest';

import { buildProgram, hasSimavr } from './build.js';
import { onChip, onPeer, pulse } from './emulators.js';
import type { Course, Stimulus } from './emulators.js';

const DATA = 'D 2';
const LOW_cycles = 100;

/** [flag, times served] by the letter of each step of latch.c. */
function stepsOf({ bytes }: Course): Record<string, readonly number[]> {
  const steps: Record<string, readonly number[]> = {};
  for (let n = 0; n < bytes.length; n += 3) steps[String.fromCharCode(bytes[n] ?? 0)] = bytes.slice(n + 1, n + 3);
  return steps;
}

describe.skipIf(!hasSimavr('simavr: external interrupts and sleep'))('external interrupts on both emulators', () => {
  const latch = (): Stimulus => ({
    hex: buildProgram('latch'),
    script: [20_000, 25_000, 60_000, 90_000].map((cycle) => pulse(DATA, cycle, LOW_cycles)).join('') + '300000 end',
  });

  it('are remembered while masked, and while interrupts are off, served then once', () => {
    const chip = stepsOf(onChip(latch()));
    const peer = stepsOf(onPeer(latch()));
    for (const step of ['m', 'M', 'c', 's']) expect(chip[step], step).toEqual(peer[step]);
    expect(chip).toMatchObject({ m: [1, 0], M: [1, 0], c: [1, 0], s: [0, 1] });
  });

  it('chip, by the datasheet (simavr neither serves nor forgets them): two edges while masked are served once on unmasking, and forgotten when one is written to the flag', () => {
    expect(stepsOf(onChip(latch()))).toMatchObject({ u: [0, 1], f: [0, 0], U: [0, 0] });
  });

  it('chip, by the datasheet (simavr takes two): one instruction is executed between SEI and a handler that waits', () => {
    expect(onChip({ hex: buildProgram('after_sei'), script: '20000 end' }).bytes).toEqual([1]);
  });

  it('chip, by the datasheet (simavr takes none): a handler starts four cycles after the edge, eight from sleep', () => {
    const VECTOR_JUMP_cycles = 3;
    const LONGEST_cycles = 2;
    const edges_cycle = [10_000, 20_000, 30_000];
    const script = edges_cycle.map((cycle) => pulse(DATA, cycle, LOW_cycles)).join('') + '50000 end';
    const rises = onChip({ hex: buildProgram('response'), script }).log.filter((line) => line.endsWith('out B 1 1'));
    const waits = rises.map((line, n) => parseInt(line, 10) - (edges_cycle[n] ?? NaN));
    // Awake, the loop's instruction under way is waited for.
    expect(waits[0]).toBeGreaterThanOrEqual(4 + VECTOR_JUMP_cycles);
    expect(waits[0]).toBeLessThanOrEqual(4 + VECTOR_JUMP_cycles + LONGEST_cycles);
    expect(waits.slice(1)).toEqual([8 + VECTOR_JUMP_cycles, 8 + VECTOR_JUMP_cycles]);
  });
});

describe.skipIf(!hasSimavr('simavr: external interrupts and sleep'))('sleep on both emulators', () => {
  const OFFSETS = 120;
  const SPAN_cycles = 20_000;
  const start = (n: number): number => (n + 1) * SPAN_cycles;
  /** In each span an edge that wakes the program, and one that falls a cycle later than in the span before. */
  const script = (): string =>
    Array.from({ length: OFFSETS }, (_, n) => `${pulse(DATA, start(n), 10)}${pulse(DATA, start(n) + 20 + n, 10)}`).join('') + `${start(OFFSETS)} end`;

  /** Spans at whose end a piece of work was still waiting. */
  function leftOver({ sent }: Course): number[] {
    return Array.from({ length: OFFSETS }, (_, n) => n).filter((n) => sent.filter(({ cycle }) => cycle < start(n + 1)).length !== 2 * (n + 1));
  }

  it('is never slept through, wherever in the loop the edge falls', () => {
    const stimulus = { hex: buildProgram('sleep'), script: script() };
    const chip = onChip(stimulus);
    const peer = onPeer(stimulus);
    expect(chip.bytes).toEqual(Array.from({ length: 2 * OFFSETS }, (_, n) => n + 1));
    expect(peer.bytes).toEqual(chip.bytes);
    expect(leftOver(chip)).toEqual([]);
    expect(leftOver(peer)).toEqual([]);
    expect(peer.log.filter((line) => line.endsWith(' sleep')).length).toBeGreaterThan(OFFSETS);
  });

  it('is slept through by a program that looks with interrupts on', () => {
    const stimulus = { hex: buildProgram('sleep', 'SLEEP_THROUGH'), script: script() };
    expect(leftOver(onChip(stimulus))).not.toEqual([]);
    expect(leftOver(onPeer(stimulus))).not.toEqual([]);
  });
});

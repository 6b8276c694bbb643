import { describe, expect, it } from 'vitest';

import { compare, defaultPlan } from '../../../../host/reduce/verdict/compare.js';
import type { Question, Verdict } from '../../../../host/reduce/verdict/compare.js';
import { normalsFrom, seeded } from '../../../support/random.js';

const SCATTER = 0.03;
const next = seeded(11);
const normal = normalsFrom(next);
const run = (gain = 0): number => 1.3 * (1 + gain) * Math.exp(SCATTER * normal());
const build = (n: number, gain = 0): number[] => Array.from({ length: n }, () => run(gain));
/** Four builds, three runs each: eight degrees of freedom. */
const ledger = (): number[][] => [0, 0.1, -0.2, 0.05].map((gain) => build(3, gain));

/** Adds a run to either side until something is called. */
function sequence(gain: number, book: readonly number[][]): Verdict {
  const a = build(defaultPlan.first_n);
  const b = build(defaultPlan.first_n, gain);
  for (;;) {
    const verdict = compare({ a, b, ledger: book });
    if (verdict.word !== 'cannot_tell' || a.length === defaultPlan.last_n) return verdict;
    a.push(run());
    b.push(run(gain));
  }
}

const share = (n: number, holds: () => boolean): number => Array.from({ length: n }, holds).filter(Boolean).length / n;

describe('a verdict between two builds whose runs scatter by 3 %', () => {
  it('calls builds that are alike better or worse in 5 % of sequences, however often it is looked at', () => {
    const wrong = share(2000, () => ['better', 'worse'].includes(sequence(0, ledger()).word));
    // 2000 of 5 %: a standard error of 0.5 %.
    expect(wrong).toBeGreaterThan(0.03);
    expect(wrong).toBeLessThan(0.06);
  });

  it('sees 10 % at the first look, by the yardstick of the ledger', () => {
    expect(share(1000, () => compare({ a: build(3), b: build(3, 0.1), ledger: ledger() }).word === 'better')).toBeGreaterThan(0.8);
    const without = share(1000, () => compare({ a: build(3), b: build(3, 0.1), ledger: [] }).word === 'better');
    expect(without).toBeLessThan(0.7);
  });

  it('says same where it may, and not of a true difference of that size', () => {
    expect(share(1000, () => compare({ a: build(8), b: build(8), ledger: ledger() }).word === 'same')).toBeGreaterThan(0.8);
    expect(share(1000, () => compare({ a: build(8), b: build(8, 0.05), ledger: ledger() }).word === 'same')).toBeLessThan(0.065);
  });

  it('states an interval that holds the truth as often as it says', () => {
    for (const book of [ledger, () => []]) {
      const held = share(2000, () => {
        const { interval95 } = compare({ a: build(4), b: build(5, 0.05), ledger: book() });
        return interval95[0] <= 0.05 && interval95[1] >= 0.05;
      });
      expect(held).toBeGreaterThan(0.935);
      expect(held).toBeLessThan(0.968);
    }
  });

  it('takes the builds\' own scatter where it plainly differs from the ledger\'s', () => {
    const calm = [[1, 1.0001, 0.9999], [2, 2.0002, 1.9998], [3, 3.0003, 2.9997]];
    expect(compare({ a: build(3), b: build(3, 0.1), ledger: calm }).yardstick.from).toBe('welch');
    expect(compare({ a: build(3), b: build(3), ledger: ledger() }).yardstick.from).toBe('ledger');
  });

  it('names the runs that are still needed', () => {
    const few: Question = { a: [1, 1.03, 0.98], b: [1.05, 1.09, 1.03], ledger: [[1, 1.04, 0.97], [1.1, 1.13, 1.07], [0.9, 0.93, 0.88]] };
    const verdict = compare(few);
    expect(verdict.word).toBe('cannot_tell');
    expect(verdict.needed).toBeGreaterThan(3);
    expect(verdict.needed).toBeLessThanOrEqual(8);
    const started = compare({ a: [1], b: [1.2], ledger: ledger() });
    expect(started.level).toBeNull();
    expect(started.word).toBe('cannot_tell');
    expect(started.needed).toBe(3);
  });

  it('lets a load cell that was calibrated anew count', () => {
    const q: Question = { a: [1, 1.001, 0.999], b: [1.02, 1.021, 1.019], ledger: [] };
    expect(compare(q).word).toBe('better');
    expect(compare({ ...q, u_between: 0.02 }).word).toBe('cannot_tell');
  });

  it('refuses what it cannot weigh', () => {
    expect(() => compare({ a: [1], b: [2], ledger: [] })).toThrow(/how 1 and 1 runs scatter/);
    expect(() => compare({ a: [1, 0], b: [2, 3], ledger: [] })).toThrow(/above 0/);
  });
});

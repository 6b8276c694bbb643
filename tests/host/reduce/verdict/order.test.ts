import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { driftLeft, orderOf } from '../../../../host/reduce/verdict/order.js';
import type { Side } from '../../../../host/reduce/verdict/order.js';
import { seeded } from '../../../support/random.js';

const text = (order: readonly Side[]): string => order.join('');

describe('the order of runs', () => {
  it('of two a side is one of the two in which an even drift cancels, drawn', () => {
    const next = seeded(3);
    const drawn = Array.from({ length: 60 }, () => text(orderOf([], 2, 'block', next).next));
    expect(new Set(drawn)).toEqual(new Set(['ABBA', 'BAAB']));
    expect(driftLeft(['A', 'B', 'A', 'B'])).toBe(1);
    expect(driftLeft(['A', 'B', 'B', 'A'])).toBe(0);
  });

  it('cancels an even drift for any even number, and goes on from what was run', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 3 }), fc.integer({ min: 0, max: 2 ** 31 }), (half, seed) => {
        const random = seeded(seed);
        const whole = orderOf([], 2 * half, 'block', random);
        expect(whole.drift_left).toBe(0);
        // At the half-way looks as well: a plan may be called early.
        for (let n = 4; n < 4 * half; n += 4) expect(driftLeft(whole.next.slice(0, n))).toBe(0);
        const done = whole.next.slice(0, 2 * half - 1);
        const rest = orderOf(done, 2 * half, 'block', random);
        expect(rest.drift_left).toBe(0);
        expect([...done, ...rest.next].filter((s) => s === 'A')).toHaveLength(2 * half);
      }),
      { seed: 5, numRuns: 25 },
    );
    expect(text(orderOf(['A', 'B'], 2, 'block', () => 0.5).next)).toBe('BA');
    expect(Math.abs(orderOf([], 3, 'block', seeded(1)).drift_left)).toBeCloseTo(1 / 3, 9);
  });

  it('is A B A where a change is costly, and has no more changes than that for more runs', () => {
    expect(orderOf([], 1, 'costly', () => 0)).toEqual({ next: ['A', 'B', 'A'], drift_left: 0, changes: 2 });
    const three = orderOf([], 3, 'costly', () => 0);
    expect(text(three.next)).toBe('AABBBAA');
    expect(three.changes).toBe(2);
  });

  it('draws each pair where asked to', () => {
    const drawn = Array.from({ length: 200 }, (_, i) => text(orderOf([], 2, 'random', seeded(i)).next));
    expect(new Set(drawn)).toEqual(new Set(['ABAB', 'ABBA', 'BAAB', 'BABA']));
  });

  it('goes beyond what can be searched by further blocks', () => {
    const long = orderOf([], 12, 'block', seeded(2));
    expect(long.next).toHaveLength(24);
    expect(long.next.filter((s) => s === 'B')).toHaveLength(12);
    expect(Math.abs(long.drift_left)).toBeLessThan(0.2);
  });
});

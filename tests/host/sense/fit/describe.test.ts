import { describe as suite, expect, it } from 'vitest';

import { randomStream, type RandomStream } from '../../../../firmware/twin/world/random.js';
import { describe, median, robust } from '../../../../host/sense/fit/describe.js';

/** A series that remembers: y = phi y + noise. */
function remembering(phi: number, n: number, random: RandomStream): number[] {
  let y = random.normal() / Math.sqrt(1 - phi * phi);
  return Array.from({ length: n }, () => (y = phi * y + random.normal()));
}

suite('readings', () => {
  it.each([
    [0, 200],
    [0.5, 400],
    [0.9, 1500],
    [-0.5, 400],
  ])('with memory %d, %i of them: the mean scatters as stated', (phi, n) => {
    const random = randomStream(21, `memory ${phi}`);
    const found = Array.from({ length: 400 }, () => describe(remembering(phi, n, random)));
    const true_sd = Math.sqrt(found.reduce((sum, { mean }) => sum + mean * mean, 0) / found.length);
    const stated = Math.sqrt(found.reduce((sum, { u_mean }) => sum + (u_mean ?? 0) ** 2, 0) / found.length);
    // 400 trials know an sd to 3.5 %. What alternates is stated as if it did not: too wide, not too narrow.
    if (phi >= 0) {
      expect(stated / true_sd).toBeGreaterThan(0.9);
      expect(stated / true_sd).toBeLessThan(1.12);
    } else {
      expect(stated / true_sd).toBeGreaterThan(1.3);
      expect(found.every(({ n_effective }) => n_effective <= n)).toBe(true);
    }
    // sd / sqrt(n) would be far too sure of the mean.
    if (phi > 0) expect(found.reduce((sum, { sd }) => sum + (sd ?? 0) / Math.sqrt(n), 0) / found.length / true_sd).toBeLessThan(0.75);
  });

  it('of a drift count as a few', () => {
    const drift = describe(Array.from({ length: 400 }, (_, i) => i));
    expect(drift.n_effective).toBeLessThan(5);
    expect(drift.dof).toBe(drift.n_effective - 1);
  });

  it('that are few, or equal', () => {
    expect(describe([3])).toEqual({ n: 1, mean: 3, sd: null, lag1: null, n_effective: 1, u_mean: null, dof: 0 });
    expect(describe([3, 3, 3])).toEqual({ n: 3, mean: 3, sd: 0, lag1: null, n_effective: 3, u_mean: 0, dof: 2 });
    expect(() => describe([])).toThrow('there are none');
    expect(() => describe([1, Number.NaN])).toThrow('one is no finite number');
  });

  it('with wild ones among them have a robust middle and spread', () => {
    const random = randomStream(3, 'robust');
    const y = Array.from({ length: 1000 }, (_, i) => (i % 10 === 0 ? 1e6 : 5 + 2 * random.normal()));
    const { median: middle, sd } = robust(y);
    // A tenth to one side moves both a little.
    expect(Math.abs(middle - 5)).toBeLessThan(0.5);
    expect(Math.abs(sd - 2)).toBeLessThan(0.5);
    expect(robust(y.filter((v) => v < 100)).sd).toBeCloseTo(2, 0);
    expect(median([4, 1, 3, 2])).toBe(2.5);
    expect(median([5, 1, 3])).toBe(3);
    expect(() => median([])).toThrow('there are none');
  });
});

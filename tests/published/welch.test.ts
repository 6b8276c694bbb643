import { describe, expect, it } from 'vitest';

import { compare } from '../../host/reduce/verdict/compare.js';

/**
 * Welch's test on published small samples. d1/d2 (p = 0.021378001462867) from the data of the task "Welch's t-test" of Rosetta
 * Code, also in the Wikipedia article; the p values of the other pairs are from memory, recomputed. Ours works on logarithms, so
 * their exponentials go in.
 */
const pairs: readonly { a: number[]; b: number[]; p: number; dof: number }[] = [
  {
    a: [27.5, 21.0, 19.0, 23.6, 17.0, 17.9, 16.9, 20.1, 21.9, 22.6, 23.1, 19.6, 19.0, 21.7, 21.4],
    b: [27.1, 22.0, 20.8, 23.4, 23.4, 23.5, 25.8, 22.0, 24.8, 20.2, 21.9, 22.1, 22.9, 20.5, 24.4],
    p: 0.021378001462867,
    dof: 24.988529290231416,
  },
  {
    a: [19.8, 20.4, 19.6, 17.8, 18.5, 18.9, 18.3, 18.9, 19.5, 22.0],
    b: [28.2, 26.6, 20.1, 23.3, 25.2, 22.1, 17.7, 27.6, 20.6, 13.7, 23.2, 17.5, 20.6, 18.0, 23.9, 21.6, 24.3, 20.4, 24.0, 13.2],
    p: 0.0359722710297968,
    dof: 24.496223124201244,
  },
  { a: [30.02, 29.99, 30.11, 29.97, 30.01, 29.99], b: [29.89, 29.93, 29.72, 29.98, 30.02, 29.98], p: 0.0907733242856612, dof: 7.030559959884322 },
];

describe('Welch\'s test', () => {
  it('gives the published chances', () => {
    for (const { a, b, p, dof } of pairs) {
      // Scaled so that the exponentials stay in range; t and p do not change.
      const verdict = compare({ a: a.map((v) => Math.exp(v / 10)), b: b.map((v) => Math.exp(v / 10)), ledger: [] });
      expect(verdict.yardstick.from).toBe('welch');
      expect(verdict.p).toBeCloseTo(p, 12);
      expect(verdict.yardstick.dof).toBeCloseTo(dof, 9);
    }
  });
});

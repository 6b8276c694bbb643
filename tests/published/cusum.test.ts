import { describe, expect, it } from 'vitest';

import { CusumSum } from '../../host/reduce/fade/cusum.js';

/**
 * NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.3 "CUSUM Control Charts", figures from memory: group means, target 325,
 * allowance k = 0.3175, decision limit h = 4.1959 in the unit of the data.
 */
const means = [324.925, 324.675, 324.725, 324.35, 325.35, 325.225, 324.125, 324.525, 325.225, 324.6, 324.625, 325.15, 328.325, 327.25, 327.825, 328.5, 326.675, 327.775, 326.875, 328.35];
const high = [0, 0, 0, 0, 0.03, 0, 0, 0, 0, 0, 0, 0, 3.01, 4.94, 7.45, 10.63, 11.99, 14.44, 16.0, 19.04];
const low = [0, 0.01, 0, 0.33, 0, 0, 0.56, 0.72, 0.17, 0.25, 0.31];
const LIMIT = 4.1959;

describe('cumulative sums', () => {
  const sums = new CusumSum(325, 0.3175);
  const got = means.map((x) => sums.next(x));

  it('are those of the handbook', () => {
    // Printed to two decimals, some rounded, some cut.
    for (const [i, x] of high.entries()) expect(Math.abs((got[i]?.high ?? NaN) - x), `group ${i + 1}`).toBeLessThan(0.01);
    for (const [i, x] of low.entries()) expect(Math.abs((got[i]?.low ?? NaN) - x), `group ${i + 1}`).toBeLessThan(0.01);
  });

  it('pass the limit first in group 14, two groups after they began to run', () => {
    const first = got.findIndex((s) => Math.max(s.high, s.low) > LIMIT);
    expect(first + 1).toBe(14);
    expect(got[first]?.running).toBe(2);
  });
});

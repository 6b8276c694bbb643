import { describe, expect, it } from 'vitest';

import { R_95, RStatistic, usualFilters } from '../../host/reduce/steady/r_statistic.js';
import { normalsFrom, seeded } from '../support/random.js';

/**
 * S. Cao and R. R. Rhinehart, J. Process Control 5 (1995) 363-374: recursion, recommended factors (0.2, 0.1, 0.1), and 1.44 as the
 * critical value that a steady signal passes in 5 % of readings. The rows below were worked out from the recursion, apart
 * from this program; the other quantiles are by simulation of white noise (1.6e6 readings), not published.
 */
const x = [10.0, 10.2, 9.9, 10.1, 10.0, 10.3, 10.6, 10.9, 11.2, 11.5, 11.8];
const R = [1.8, 0.79428571, 0.67803911, 0.64289591, 0.99932538, 2.36996943, 4.39268148, 6.79765267, 9.39383302, 12.04915895];

describe('the R-statistic', () => {
  it('follows the recursion', () => {
    const s = new RStatistic();
    const [first, ...rest] = x.map((v) => s.next(v));
    expect(first).toBeNaN();
    for (const [i, r] of rest.entries()) expect(r).toBeCloseTo(R[i] ?? NaN, 7);
  });

  it('passes its critical value on white noise as often as is published', () => {
    const next = seeded(21);
    const normal = normalsFrom(next);
    const s = new RStatistic(usualFilters);
    const n = 400_000;
    let above = 0;
    let far = 0;
    let sum = 0;
    for (let i = 0; i < 100; i++) s.next(normal());
    expect(s.warm).toBe(true);
    for (let i = 0; i < n; i++) {
      const r = s.next(normal());
      sum += r;
      if (r > R_95) above++;
      if (r > 2.5) far++;
    }
    expect(above / n).toBeCloseTo(0.05, 2);
    expect(sum / n).toBeCloseTo(1.04, 2);
    expect(far / n).toBeLessThan(0.0005);
  });
});

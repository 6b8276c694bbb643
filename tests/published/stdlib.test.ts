import fCdf from '@stdlib/stats-base-dists-f-cdf';
import meanpn from '@stdlib/stats-base-meanpn';
import mediansorted from '@stdlib/stats-base-mediansorted';
import variance from '@stdlib/stats-base-variance';
import { describe as suite, expect, it } from 'vitest';

import { randomStream } from '../../firmware/twin/world/random.js';
import { describe, median } from '../../host/sense/fit/describe.js';
import { fitPolynomial } from '../../host/sense/fit/polynomial.js';
import { pOfF } from '../../host/sense/fit/student.js';
import { digitsOf } from './published.js';

/** What @stdlib has too, on the same numbers: readings of 10 to 1000 about means of 0, 1 and a million. */
const random = randomStream(11, 'stdlib');
const series = [0, 1, 1e6].flatMap((mean) => [10, 101, 1000].map((n) => Array.from({ length: n }, () => mean + random.normal())));

suite('@stdlib', () => {
  it('has the same mean, variance and median', () => {
    for (const y of series) {
      const { mean, sd } = describe(y);
      // The mean of noise about 0 has lost digits of its own in any sum.
      expect(Math.abs(mean - meanpn(y.length, y, 1))).toBeLessThan(1e-15 * Math.max(1, Math.abs(mean)));
      expect(digitsOf((sd ?? 0) ** 2, variance(y.length, 1, y, 1))).toBeGreaterThan(9);
      const sorted = y.toSorted((a, b) => a - b);
      expect(median(y)).toBe(mediansorted(y.length, sorted, 1));
    }
  });

  it('has the same F', () => {
    for (const below of [1, 3, 7.5, 20]) for (const F of [0.1, 1, 4, 9]) expect(pOfF(F, 1, below)).toBeCloseTo(1 - fCdf(F, 1, below), 9);
  });

  it('has the parts of a straight line: slope as covariance over variance, R2 as what the line leaves', () => {
    for (const noise of series) {
      const x = noise.map((_, i) => i);
      const y = noise.map((v, i) => 3 - 0.25 * i + v);
      const fit = fitPolynomial(x, y, 1);
      const n = x.length;
      const [mx, my] = [meanpn(n, x, 1), meanpn(n, y, 1)];
      const covariance = x.reduce((sum, v, i) => sum + (v - mx) * ((y[i] ?? 0) - my), 0) / (n - 1);
      expect(digitsOf(fit.coefficients[1] ?? 0, covariance / variance(n, 1, x, 1))).toBeGreaterThan(8);
      expect(digitsOf(1 - (fit.r_squared ?? 0), variance(n, 1, [...fit.residuals], 1) / variance(n, 1, y, 1))).toBeGreaterThan(8);
    }
  });
});

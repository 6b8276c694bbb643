import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { fitPolynomial, fittedAt, fittedSlopeAt, u_fittedAt, type Degree } from '../../../../host/sense/fit/polynomial.js';
import { randomStream } from '../../../../firmware/twin/world/random.js';

const close = (a: number, b: number, relative: number): void => {
  expect(Math.abs(a - b)).toBeLessThanOrEqual(relative * Math.max(Math.abs(a), Math.abs(b), Number.MIN_VALUE));
};

describe('a least-squares curve', () => {
  it('finds any curve through points that lie on it', () => {
    const coefficient = fc.double({ min: -10, max: 10, noNaN: true });
    fc.assert(
      fc.property(fc.constantFrom<Degree>(1, 2, 3), fc.tuple(coefficient, coefficient, coefficient, coefficient), fc.double({ min: -1e3, max: 1e3, noNaN: true }), (degree, c, from) => {
        const x = Array.from({ length: 9 }, (_, i) => from + 3 * i);
        const curve = (v: number): number => c.slice(0, degree + 1).reduceRight((a, c_i) => a * v + c_i, 0);
        const y = x.map(curve);
        const fit = fitPolynomial(x, y, degree);
        const largest = Math.max(1e-300, ...y.map(Math.abs));
        for (const [i, v] of x.entries()) {
          expect(Math.abs(fittedAt(fit, v) - (y[i] ?? 0))).toBeLessThan(1e-12 * largest);
          expect(Math.abs(fit.coefficients.reduceRight((a, c_i) => a * v + c_i, 0) - (y[i] ?? 0))).toBeLessThan(1e-8 * largest);
        }
      }),
      { seed: 4, numRuns: 200 },
    );
  });

  it('keeps its digits where the x are counts far from 0', () => {
    // Counts of a bridge converter: 8 000 000 and a few more; the slope of one in a million must come out.
    const x = Array.from({ length: 20 }, (_, i) => 8_000_000 + 10 * i);
    const fit = fitPolynomial(x, x.map((v) => 5 + 1e-6 * (v - 8_000_000)), 1);
    close(fit.coefficients[1] ?? 0, 1e-6, 1e-9);
    close(fittedAt(fit, 8_000_100), 5.0001, 1e-14);
    close(fittedSlopeAt(fit, 8_000_100), 1e-6, 1e-9);
  });

  it('is the textbook line: slope, intercept, sds and their covariance', () => {
    const x = [1, 2, 3, 4, 6];
    const y = [1.1, 1.9, 3.2, 3.9, 6.2];
    const n = x.length;
    const mean = (v: readonly number[]): number => v.reduce((a, b) => a + b) / v.length;
    const Sxx = x.reduce((a, v) => a + (v - mean(x)) ** 2, 0);
    const slope = x.reduce((a, v, i) => a + (v - mean(x)) * (y[i] ?? 0), 0) / Sxx;
    const zero = mean(y) - slope * mean(x);
    const s = Math.sqrt(x.reduce((a, v, i) => a + ((y[i] ?? 0) - zero - slope * v) ** 2, 0) / (n - 2));
    const fit = fitPolynomial(x, y, 1);
    close(fit.coefficients[0] ?? 0, zero, 1e-12);
    close(fit.coefficients[1] ?? 0, slope, 1e-13);
    close(fit.residual_sd ?? 0, s, 1e-13);
    close(fit.coefficient_sd?.[1] ?? 0, s / Math.sqrt(Sxx), 1e-13);
    close(fit.coefficient_sd?.[0] ?? 0, s * Math.sqrt(1 / n + mean(x) ** 2 / Sxx), 1e-13);
    close(fit.covariance?.[0]?.[1] ?? 0, (-mean(x) * s * s) / Sxx, 1e-13);
    close(u_fittedAt(fit, 5) ?? 0, s * Math.sqrt(1 / n + (5 - mean(x)) ** 2 / Sxx), 1e-13);
  });

  it('takes a weight of 3 for a point that was met three times', () => {
    const x = [0, 1, 2, 3, 4];
    const y = [0.1, 1.2, 1.7, 3.3, 4];
    const weighted = fitPolynomial(x, y, 2, { weights: [1, 1, 3, 1, 1] });
    const repeated = fitPolynomial([...x, 2, 2], [...y, 1.7, 1.7], 2);
    for (let i = 0; i < 3; i++) close(weighted.coefficients[i] ?? 0, repeated.coefficients[i] ?? 0, 1e-12);
    close(weighted.r_squared ?? 0, repeated.r_squared ?? 1, 1e-14);
    const doubled = fitPolynomial(x, y, 2, { weights: [2, 2, 6, 2, 2] });
    for (let i = 0; i < 3; i++) close(weighted.coefficient_sd?.[i] ?? 0, doubled.coefficient_sd?.[i] ?? 1, 1e-12);
  });

  it('states a scatter of its coefficients that they have', () => {
    const random = randomStream(5, 'fit');
    const x = [0, 1, 2, 3, 4, 5, 6, 7];
    const found = Array.from({ length: 4000 }, () => fitPolynomial(x, x.map((v) => 2 + 3 * v - 0.1 * v * v + 0.2 * random.normal()), 2));
    for (let i = 0; i < 3; i++) {
      const values = found.map((f) => f.coefficients[i] ?? 0);
      const mean = values.reduce((a, b) => a + b) / values.length;
      const sd = Math.sqrt(values.reduce((a, b) => a + (b - mean) ** 2, 0) / values.length);
      const stated = Math.sqrt(found.reduce((a, f) => a + (f.coefficient_sd?.[i] ?? 0) ** 2, 0) / found.length);
      // 4000 trials know an sd to 1.1 %.
      expect(Math.abs(stated / sd - 1)).toBeLessThan(0.05);
    }
  });

  it('knows no scatter where no point is left over', () => {
    const fit = fitPolynomial([0, 1, 2], [0, 1, 3], 2);
    expect(fit).toMatchObject({ dof: 0, residual_sd: null, covariance: null, coefficient_sd: null });
    expect(u_fittedAt(fit, 1)).toBeNull();
    // With a scatter known from elsewhere it does.
    close(u_fittedAt(fit, 1, 0.1) ?? 0, 0.1, 1e-12);
    expect(fitPolynomial([0, 1, 2], [1, 1, 1], 1).r_squared).toBeNull();
  });

  it.each<[string, readonly number[], readonly number[], Degree, object]>([
    ['it needs 3 different loads, there are 2', [0, 0, 1, 1], [0, 0, 1, 1], 2, {}],
    ['it needs 1 different loads besides 0, there are 0', [0, 0], [0, 1], 1, { intercept: false }],
    ['no finite number', [0, 1, Number.NaN], [0, 1, 2], 1, {}],
    ['a weight is not above 0', [0, 1, 2], [0, 1, 2], 1, { weights: [1, 0, 1] }],
    ['a reading and a weight', [0, 1, 2], [0, 1], 1, {}],
    ['too close together', [0, 1e-13, 1], [0, 1, 2], 2, {}],
  ])('refuses: %s', (why, x, y, degree, options) => {
    expect(() => fitPolynomial(x, y, degree, options)).toThrow(why);
  });
});

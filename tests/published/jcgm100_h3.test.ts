import { describe, expect, it } from 'vitest';

import { fitPolynomial } from '../../host/sense/fit/polynomial.js';
import { correlated } from '../../host/sense/uncertainty/correlated.js';
import { dof } from '../../host/sense/uncertainty/coverage.js';
import { combine, correlation, u } from '../../host/sense/uncertainty/quantity.js';
import type { Quantity } from '../../host/sense/uncertainty/quantity.js';

/** JCGM 100:2008 (GUM), annex H.3 (table H.6): a thermometer's correction b against its reading t, a line through 11 points. */
const t_C = [21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.01, 26.511];
const b_K = [-0.171, -0.169, -0.166, -0.159, -0.164, -0.165, -0.156, -0.157, -0.159, -0.161, -0.16];

function line(t0_C: number): [Quantity, Quantity] {
  const fit = fitPolynomial(t_C.map((t) => t - t0_C), b_K, 1);
  const [y1, y2] = correlated(
    fit.coefficients.slice(0, 2).map((value) => ({ value, unit: 'K' })),
    fit.covariance ?? [],
    { id: 'fit', says: 'scatter about the line', kind: 'systematic', shape: 'student', dof: fit.dof },
  );
  if (y1 === undefined || y2 === undefined) throw new Error('a line has two coefficients');
  return [y1, y2];
}

describe('JCGM 100:2008, H.3', () => {
  const [y1, y2] = line(20);

  it('gives the printed coefficients, standard deviations and correlation', () => {
    expect(y1.value).toBeCloseTo(-0.1712, 4);
    expect(u(y1)).toBeCloseTo(0.0029, 4);
    expect(y2.value).toBeCloseTo(0.00218, 5);
    expect(u(y2)).toBeCloseTo(0.00067, 5);
    expect(correlation(y1, y2)).toBeCloseTo(-0.93, 2);
    expect(fitPolynomial(t_C, b_K, 1).residual_sd).toBeCloseTo(0.0035, 4);
  });

  it('gives the printed correction at 30 C, where a dropped correlation would give 0.0073 K', () => {
    const b30 = combine(y1.value + 10 * y2.value, 'K', [[y1, 1], [y2, 10]]);
    expect(b30.value).toBeCloseTo(-0.1494, 4);
    expect(u(b30)).toBeCloseTo(0.0041, 4);
    expect(dof(b30)).toBeCloseTo(9, 9);
  });

  it('gives the same correction from a line about the mean reading, where the correlation vanishes', () => {
    const mean_C = t_C.reduce((s, t) => s + t, 0) / t_C.length;
    const [a, b] = line(mean_C);
    expect(correlation(a, b)).toBeCloseTo(0, 9);
    const by = 30 - mean_C;
    expect(u(combine(0, 'K', [[a, 1], [b, by]]))).toBeCloseTo(u(combine(0, 'K', [[y1, 1], [y2, 10]])), 12);
  });
});

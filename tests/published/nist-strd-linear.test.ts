import { describe, expect, it } from 'vitest';

import { fitPolynomial } from '../../host/sense/fit/polynomial.js';
import { digitsOf, published } from './published.js';

interface Pontius {
  readonly data: readonly (readonly [y: number, x: number])[];
  readonly certified: {
    readonly coefficients: { B0: string; B1: string; B2: string };
    readonly coefficient_sd: { B0: string; B1: string; B2: string };
    readonly residual_sd: string;
    readonly r_squared: string;
  };
}

/** NIST StRD, linear least squares, Pontius: a load cell calibrated with 40 points, quadratic. */
describe('NIST StRD Pontius', () => {
  const { data, certified } = JSON.parse(published('nist-strd-pontius.json')) as Pontius;
  const y = data.map(([v]) => v);
  const x = data.map(([, v]) => v);
  const fit = fitPolynomial(x, y, 2);
  const { B0, B1, B2 } = certified.coefficients;
  const sd = certified.coefficient_sd;

  it.each([
    ['B0', fit.coefficients[0], B0],
    ['B1', fit.coefficients[1], B1],
    ['B2', fit.coefficients[2], B2],
    ['sd of B0', fit.coefficient_sd?.[0], sd.B0],
    ['sd of B1', fit.coefficient_sd?.[1], sd.B1],
    ['sd of B2', fit.coefficient_sd?.[2], sd.B2],
    ['residual sd', fit.residual_sd, certified.residual_sd],
    ['R2', fit.r_squared, certified.r_squared],
  ])('%s to 13 digits', (_, found, value) => {
    expect(digitsOf(found ?? Number.NaN, value)).toBeGreaterThan(13);
  });

  it('has 40 points and 37 degrees of freedom', () => {
    expect([fit.n, fit.dof]).toEqual([40, 37]);
  });

  it('does not depend on the order of the points, nor on the unit of the load', () => {
    const turned = fitPolynomial(x.toReversed(), y.toReversed(), 2);
    const kilo = fitPolynomial(x.map((v) => v / 1e3), y, 2);
    for (let i = 0; i < 3; i++) {
      expect(digitsOf(turned.coefficients[i] ?? 0, fit.coefficients[i] ?? 0)).toBeGreaterThan(11);
      expect(digitsOf((kilo.coefficients[i] ?? 0) / 1e3 ** i, fit.coefficients[i] ?? 0)).toBeGreaterThan(11);
    }
  });
});

/** NIST StRD, linear least squares, NoInt1 (K. Eberhardt, NIST): a straight line through 0. */
describe('NIST StRD NoInt1', () => {
  const x = Array.from({ length: 11 }, (_, i) => 60 + i);
  const fit = fitPolynomial(x, x.map((v) => v + 70), 1, { intercept: false });

  it.each([
    ['B1', fit.coefficients[1], '2.07438016528926'],
    ['sd of B1', fit.coefficient_sd?.[1], '0.165289256198347E-01'],
    ['residual sd', fit.residual_sd, '3.56753034006338'],
    ['R2', fit.r_squared, '0.999365492298663'],
  ])('%s to 13 digits', (_, found, value) => {
    expect(digitsOf(found ?? Number.NaN, value)).toBeGreaterThan(13);
  });

  it('has one coefficient', () => {
    expect(fit.dof).toBe(10);
    expect(fit.coefficients[0]).toBe(0);
  });
});

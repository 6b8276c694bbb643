import { describe, expect, it } from 'vitest';

import { chooseDegree } from '../../host/sense/fit/choose.js';
import { lowerLimit } from '../../host/sense/fit/lower_limit.js';
import { fitPolynomial } from '../../host/sense/fit/polynomial.js';
import { published } from './published.js';

/**
 * ASTM E74-18: the lower limit factor is 2.4 s, class A from 400 and class AA from 2000
 * times it (as quoted by mhforce.com; 400 and 2000 from memory, equal to 1 / 0.25 % and
 * 1 / 0.05 %); 30 applications and 10 distinct loads (from memory). The loads are those of
 * NIST StRD Pontius; no result of E74 on them is published, the figures were computed apart
 * from this program with the slope of the straight line.
 */
describe('lower limit factor, ASTM E74', () => {
  const { data } = JSON.parse(published('nist-strd-pontius.json')) as { data: [y: number, x: number][] };
  const x = data.map(([, v]) => v);
  const y = data.map(([v]) => v);

  it.each([
    [1, 7215.598],
    [2, 681.848],
    [3, 680.094],
  ] as const)('of Pontius with degree %i is %d', (degree, llf) => {
    const found = lowerLimit(x, fitPolynomial(x, y, degree), 1);
    // The slope from end to end and that of the straight line differ by 1e-4 on this curve.
    expect(Math.abs((found.llf ?? 0) / llf - 1)).toBeLessThan(2e-4);
    expect((found.class_A_from ?? 0) / (found.llf ?? 1)).toBeCloseTo(1 / 0.0025, 9);
    expect((found.class_AA_from ?? 0) / (found.llf ?? 1)).toBeCloseTo(1 / 0.0005, 9);
    expect(found).toMatchObject({ set_by: 'scatter', as_E74_asks: true, applications: { had: 40, asked: 30 }, distinct_loads: { had: 20, asked: 10 } });
  });

  it('takes the quadratic for Pontius, on overwhelming evidence', () => {
    const choice = chooseDegree(x, y);
    // The published F of the data set is that of both terms; that of the added one is the square of B2 over its sd.
    expect(choice).toMatchObject({ degree: 2, reason: 'curved' });
    expect(choice.F).toBeCloseTo((-0.316081871345029e-14 / 0.486652849992036e-16) ** 2, 5);
    expect(choice.p).toBeLessThan(1e-30);
  });

  it('never falls below the resolution', () => {
    const found = lowerLimit(x, fitPolynomial(x, y, 2), 1000);
    expect(found).toMatchObject({ llf: 1000, set_by: 'resolution', class_A_from: 400_000 });
  });

  it('says what a calibration of five masses lacks, and knows no scatter where no point is left over', () => {
    const few = [0, 1, 2, 3, 4, 5, 5, 4, 3, 2, 1, 0];
    const found = lowerLimit(few, fitPolynomial(few, few.map((v, i) => -2 * v + (i % 2) * 1e-3), 1), 1e-6);
    expect(found).toMatchObject({ as_E74_asks: false, applications: { had: 10 }, distinct_loads: { had: 5 } });
    expect(found.llf).toBeGreaterThan(0);
    expect(lowerLimit([0, 1], fitPolynomial([0, 1], [0, 2], 1), 0.01)).toMatchObject({ llf: null, set_by: null, sd_y: null, mean_slope: 2 });
  });
});

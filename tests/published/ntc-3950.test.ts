import { describe, expect, it } from 'vitest';

import { fitPolynomial, fittedAt } from '../../host/sense/fit/polynomial.js';
import { betaThrough, curveOfBeta, curveOfTable, curveThroughThree, thermistor_C, type ThermistorPoint } from '../../host/sense/physics/thermistor.js';
import { published } from './published.js';

/** The R-T table published with the 10 kOhm "103 3950" part, -25 to 125 C (source in the file). */
const table: readonly ThermistorPoint[] = published('ntc-10k-3950.csv')
  .trim()
  .split('\n')
  .slice(2)
  .map((line) => {
    const [t_C, R_ohm] = line.split(',').map(Number) as [number, number];
    return { t_C, R_ohm };
  });
const at = (t_C: number): ThermistorPoint => {
  const point = table.find((p) => p.t_C === t_C);
  if (point === undefined) throw new Error(`no row of ${t_C} C`);
  return point;
};

describe('the 3950 thermistor', () => {
  it('has 151 rows, 10 kOhm at 25 C', () => {
    expect(table).toHaveLength(151);
    expect(at(25).R_ohm).toBe(10_000);
  });

  it('has the B25/50 and B25/85 of its table, which are not 3950 both', () => {
    // Computed from the table apart from this program.
    expect(betaThrough(at(25), at(50))).toBeCloseTo(3945.9, 1);
    expect(betaThrough(at(25), at(85))).toBeCloseTo(3995.91, 1);
    expect(betaThrough(at(25), at(100))).toBeCloseTo(4000.88, 1);
  });

  // The errors were computed apart from this program.
  it.each([
    [-20, 3.067],
    [0, 1.0736],
    [20, 0.1137],
    [50, -0.0281],
    [80, 0.6878],
    [100, 1.2131],
    [120, 2.2982],
  ])('one beta of 3950 errs at %d C by %d K', (t_C, error_K) => {
    expect(thermistor_C(curveOfBeta(3950, 10_000), at(t_C).R_ohm) - t_C).toBeCloseTo(error_K, 3);
  });

  it.each([
    [-20, 0.4718],
    [10, -0.0221],
    [40, 0.05],
    [80, -0.4115],
    [100, -1.381],
    [120, -2.3629],
  ])('Steinhart-Hart through 0, 25 and 60 C errs at %d C by %d K', (t_C, error_K) => {
    const curve = curveThroughThree([at(0), at(25), at(60)]);
    expect(thermistor_C(curve, at(t_C).R_ohm) - t_C).toBeCloseTo(error_K, 3);
    for (const exact of [0, 25, 60]) expect(thermistor_C(curve, at(exact).R_ohm)).toBeCloseTo(exact, 9);
  });

  it('is not the part of the coefficients that are copied everywhere', () => {
    // forum.arduino.cc/t/ide-and-ntc-thermistor/683955
    const copied = { a: [0.001009249522, 0.0002378405444, 0, 2.019202697e-7] } as const;
    expect(thermistor_C(copied, 10_000)).toBeCloseTo(24.6813, 4);
    expect(thermistor_C(copied, at(0).R_ohm)).toBeCloseTo(-2.8579, 4);
  });

  it('is met by a cubic over 0 to 100 C to the roundings of its table, and by one over everything to half a kelvin', () => {
    const coolant = curveOfTable(table, 0, 100);
    expect(coolant).toMatchObject({ rows: 101, from_C: 0, to_C: 100 });
    expect(coolant.residual_max_K).toBeLessThan(0.05);
    expect(coolant.residual_sd_K).toBeLessThan(0.02);
    // Its own word for its residuals holds.
    const off_K = table.filter((p) => p.t_C >= 0 && p.t_C <= 100).map((p) => Math.abs(thermistor_C(coolant, p.R_ohm) - p.t_C));
    expect(Math.max(...off_K)).toBeCloseTo(coolant.residual_max_K, 12);
    const all = curveOfTable(table);
    expect(all.residual_max_K).toBeGreaterThan(0.4);
    expect(all.residual_max_K).toBeLessThan(0.6);
    // Least in K: no other weighting of the rows of 1/T does better.
    const L = table.map((p) => Math.log(p.R_ohm));
    const T_K = table.map((p) => p.t_C + 273.15);
    for (const power of [0, 1, 2, 3, 5, 6, 7, 8]) {
      const fit = fitPolynomial(L, T_K.map((T) => 1 / T), 3, { weights: T_K.map((T) => T ** power) });
      const sum_K2 = L.reduce((sum, v, i) => sum + (1 / fittedAt(fit, v) - (T_K[i] ?? 0)) ** 2, 0);
      expect(Math.sqrt(sum_K2 / fit.dof)).toBeGreaterThan((all.residual_sd_K ?? 0) * (1 + 1e-9));
    }
  });
});

/** Three-point Steinhart-Hart calculator, default example (thinksrs.com); its three points are from memory, they give the coefficients to 10 digits. */
describe('Steinhart-Hart, worked example', () => {
  const { a } = curveThroughThree([
    { R_ohm: 25_000, t_C: 5 },
    { R_ohm: 10_000, t_C: 25 },
    { R_ohm: 4000, t_C: 45 },
  ]);

  it('gives the published coefficients to 10 digits', () => {
    expect(a[0].toPrecision(10)).toBe((2.108508173e-3).toPrecision(10));
    expect(a[1].toPrecision(10)).toBe((0.7979204727e-4).toPrecision(10));
    expect(a[2]).toBe(0);
    expect(a[3].toPrecision(10)).toBe((6.535076315e-7).toPrecision(10));
  });
});

/**
 * Points of a 10 kOhm thermistor from the appendix of a laboratory temperature controller's
 * manual, which states a fit error below 0.01 C
 * (manualsdump.com/en/manuals/lightwave_communications-ldt-5525/138826/41; its row of 40 C,
 * 0.47 C off the others, is left out as a misprint).
 */
describe('Steinhart-Hart, laboratory thermistor', () => {
  const points = [[32128, 0], [19549, 10], [12262, 20], [9814, 25], [7908, 30], [3542, 50]].map(([R_ohm = 0, t_C = 0]) => ({ R_ohm, t_C }));

  it('meets all points to 0.01 C through three of them', () => {
    const [p0, , , p25, , p50] = points as [ThermistorPoint, ThermistorPoint, ThermistorPoint, ThermistorPoint, ThermistorPoint, ThermistorPoint];
    const curve = curveThroughThree([p0, p25, p50]);
    for (const { R_ohm, t_C } of points) expect(Math.abs(thermistor_C(curve, R_ohm) - t_C)).toBeLessThan(0.01);
    expect(curve.a[0]).toBeCloseTo(0.0011041591248092271, 12);
    expect(curve.a[3]).toBeCloseTo(6.931626525986445e-8, 16);
  });
});

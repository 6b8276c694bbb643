import { describe, expect, it } from 'vitest';

import { SmallbrakeError } from '../../host/errors.js';
import {
  TYPE_K_INVERSE,
  typeK_C,
  typeK_mV,
  typeK_mV_per_K,
  typeKPolynomial_C,
  typeKTolerance_K,
  type ToleranceClass,
} from '../../host/sense/physics/type_k.js';
import { published } from './published.js';

/**
 * NIST ITS-90 Thermocouple Database, Standard Reference Database 60 (Monograph 175, Burns
 * et al. 1993), type K: the table in steps of 1 C and the error bands of the inverse.
 */
const table = published('its90-type-k-1C.csv')
  .trim()
  .split('\n')
  .slice(2)
  .map((line) => line.split(',') as [string, string]);

describe('type K, NIST SRD 60', () => {
  it('gives all 1643 values of the table at 0.001 mV', () => {
    expect(table).toHaveLength(1643);
    const wrong = table.filter(([t_C, e_mV]) => Math.abs(typeK_mV(Number(t_C)) - Number(e_mV)) > 0.0005);
    expect(wrong).toEqual([]);
    const rounded = table.filter(([t_C, e_mV]) => Number(typeK_mV(Number(t_C)).toFixed(3)) !== Number(e_mV));
    expect(rounded).toEqual([]);
  });

  it.each(TYPE_K_INVERSE)('inverts $from_C to $to_C C within the published band $error_K', ({ from_C, to_C, error_K: [least, most] }) => {
    let low = 0;
    let high = 0;
    for (let i = 1; i < 20_000; i++) {
      const t_C = from_C + ((to_C - from_C) * i) / 20_000;
      const error_K = typeKPolynomial_C(typeK_mV(t_C)) - t_C;
      low = Math.min(low, error_K);
      high = Math.max(high, error_K);
    }
    // The band is published to 0.01 K, and 0.0408 is in the one that says 0.04.
    expect(Number(low.toFixed(2))).toBeGreaterThanOrEqual(least);
    expect(Number(high.toFixed(2))).toBeLessThanOrEqual(most);
    // And it is this polynomial, not a better one.
    expect(Math.min(low - least, most - high)).toBeLessThan(0.01);
  });

  it('finds its way back to 1e-9 K everywhere', () => {
    let worst_K = 0;
    for (let i = 0; i <= 157_200; i++) {
      const t_C = -200 + i / 100;
      worst_K = Math.max(worst_K, Math.abs(typeK_C(typeK_mV(t_C)) - t_C));
    }
    for (const t_C of [-1e-3, -1e-9, 0, 1e-9, 1e-7, 1e-3]) worst_K = Math.max(worst_K, Math.abs(typeK_C(typeK_mV(t_C)) - t_C));
    expect(worst_K).toBeLessThan(1e-9);
  });

  it('has the slope of its function', () => {
    for (let t_C = -269.5; t_C < 1372; t_C += 0.5) {
      if (Math.abs(t_C) < 0.1) continue;
      const step_C = 1e-3;
      const slope = (typeK_mV(t_C + step_C) - typeK_mV(t_C - step_C)) / (2 * step_C);
      expect(Math.abs(typeK_mV_per_K(t_C) - slope)).toBeLessThan(1e-9);
    }
  });

  it('gives hot ends back from what a couple with a warm plug sends', () => {
    // The voltages were computed apart from this program from the reference function.
    const rows = [[300, 20, 11.410446], [300, 25, 11.208323], [500, 25, 19.644044], [650, 22.5, 26.1258], [800, 30, 32.072105]] as const;
    for (const [hot_C, plug_C, measured_mV] of rows) expect(typeK_C(measured_mV + typeK_mV(plug_C))).toBeCloseTo(hot_C, 4);
  });

  it.each([-5.9, 54.89, Number.NaN, Infinity])('refuses %d mV', (e_mV) => {
    for (const inverse of [typeK_C, typeKPolynomial_C]) expect(() => inverse(e_mV)).toThrow(SmallbrakeError);
  });

  it.each([-270.1, 1372.1, Number.NaN])('refuses %d C', (t_C) => {
    for (const of of [typeK_mV, typeK_mV_per_K]) expect(() => of(t_C)).toThrow(/from -270 to 1372 C/);
  });
});

/**
 * IEC 60584 tolerance classes of type K: figures as in JIS C1602-1995 / IEC 584-2 tables of
 * sensor makers (therncway.net, picopolska.pl).
 */
describe('type K tolerance, IEC 60584', () => {
  it.each<[ToleranceClass, number, number]>([
    [1, -40, 1.5],
    [1, 375, 1.5],
    [1, 1000, 4],
    [2, 333, 2.5],
    [2, 400, 3],
    [2, 1200, 9],
    [3, -167, 2.505],
    [3, -200, 3],
    [3, 40, 2.5],
  ])('class %i at %d C: %d K', (tolerance_class, t_C, tolerance_K) => {
    expect(typeKTolerance_K(tolerance_class, t_C)).toBeCloseTo(tolerance_K, 12);
  });

  it('says where a class ends', () => {
    expect(() => typeKTolerance_K(1, 1100)).toThrow('A temperature of a class 1 type K couple is 1100 C: it must be from -40 to 1000 C');
  });
});

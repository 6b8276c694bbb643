import { describe, expect, it } from 'vitest';

import { budget } from '../../host/sense/uncertainty/budget.js';
import { coverageFactor } from '../../host/sense/fit/student.js';
import { dof } from '../../host/sense/uncertainty/coverage.js';
import { combine, difference, estimated, product, scaled, sum, u, within } from '../../host/sense/uncertainty/quantity.js';
import type { Source } from '../../host/sense/uncertainty/source.js';

/**
 * JCGM 100:2008 (GUM), annex H.1, end-gauge calibration: l = l_s + d - l_s (d_alpha theta + alpha_s d_theta).
 * The inputs are as printed; U99 = 93 nm, k = 2.92 and the second-order 34 nm of the annex are from memory. In full digits u_c is 31.66 nm and U99
 * 92.48 nm: the printed 93 is 2.92 times the rounded 32.
 */
const source = (id: string, kind: Source['kind'] = 'systematic') => ({ id, says: id, kind });
const nm = 1e-6; // in mm

const l_s = estimated(50.000623, 'mm', 25 * nm, 18, source('standard'));
const d = [
  estimated(215 * nm, 'mm', 5.8 * nm, 24, source('observations', 'random')),
  estimated(0, 'mm', 3.9 * nm, 5, source('comparator, random', 'random')),
  estimated(0, 'mm', 6.7 * nm, 8, source('comparator, systematic')),
].reduce(sum);
const alpha_s = within(11.5e-6, '1/K', 2e-6, source('expansion of the standard'));
const theta = sum(estimated(-0.1, 'K', 0.2, Infinity, source('mean temperature')), within(0, 'K', 0.5, source('cycle of the room'), 'arcsine'));
// Limits that are themselves in doubt have a number of degrees of freedom (G.4.2).
const d_alpha = estimated(0, '1/K', 1e-6 / Math.sqrt(3), 50, source('difference of expansion'));
const d_theta = estimated(0, 'K', 0.05 / Math.sqrt(3), 2, source('difference of temperature'));

const thermal = sum(product(d_alpha, theta, ''), product(alpha_s, d_theta, ''));
const l = difference(sum(l_s, d), product(l_s, thermal, 'mm'));

describe('JCGM 100:2008, H.1', () => {
  it('gives the printed inputs', () => {
    expect(u(d) / nm).toBeCloseTo(9.7, 1);
    expect(u(theta)).toBeCloseTo(0.41, 2);
    // 25.6 is printed, from the rounded 9.7
    expect(dof(d)).toBeCloseTo(25.6, 0);
  });

  it('gives the printed contributions', () => {
    const lines = new Map(budget(l).map((b) => [b.source, b.u / nm]));
    expect(lines.get('standard')).toBeCloseTo(25, 1);
    expect(lines.get('difference of expansion')).toBeCloseTo(2.9, 1);
    expect(lines.get('difference of temperature')).toBeCloseTo(16.6, 1);
  });

  it('gives the printed result', () => {
    expect(l.value).toBeCloseTo(50.000838, 6);
    expect(u(l) / nm).toBeCloseTo(31.66, 2);
    expect(Math.round(u(l) / nm)).toBe(32);
    // The annex cuts to a whole number; we do not.
    expect(Math.floor(dof(l))).toBe(16);
    expect(coverageFactor(0.99, 16)).toBeCloseTo(2.92, 2);
    expect(Math.abs((coverageFactor(0.99, Math.floor(dof(l))) * u(l)) / nm - 93)).toBeLessThan(1);
  });

  it('notices a forgotten temperature, as it should', () => {
    const without = difference(sum(l_s, d), scaled(combine(0, '', []), 1, 'mm'));
    expect(u(without) / nm).toBeLessThan(28);
  });
});

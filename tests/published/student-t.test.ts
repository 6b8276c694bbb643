import { describe, expect, it } from 'vitest';

import { coverageFactor, pOfF, studentCdf, studentQuantile } from '../../host/sense/fit/student.js';

/**
 * JCGM 100:2008, table G.2, t for 68.27, 90, 95, 95.45, 99 and 99.73 %. The rows of 1, 10
 * and infinity are as printed (from memory); the others were computed apart from this
 * program in the layout of the table.
 */
const p = [0.6826894921370859, 0.9, 0.95, 0.9544997361036416, 0.99, 0.9973002039367398];
const g2: readonly (readonly [number, readonly number[]])[] = [
  [1, [1.84, 6.31, 12.71, 13.97, 63.66, 235.8]],
  [2, [1.32, 2.92, 4.3, 4.53, 9.92, 19.21]],
  [3, [1.2, 2.35, 3.18, 3.31, 5.84, 9.22]],
  [4, [1.14, 2.13, 2.78, 2.87, 4.6, 6.62]],
  [5, [1.11, 2.02, 2.57, 2.65, 4.03, 5.51]],
  [10, [1.05, 1.81, 2.23, 2.28, 3.17, 3.96]],
  [15, [1.03, 1.75, 2.13, 2.18, 2.95, 3.59]],
  [16, [1.03, 1.75, 2.12, 2.17, 2.92, 3.54]],
  [20, [1.03, 1.72, 2.09, 2.13, 2.85, 3.42]],
  [50, [1.01, 1.68, 2.01, 2.05, 2.68, 3.16]],
  [100, [1.01, 1.66, 1.98, 2.03, 2.63, 3.08]],
  [Infinity, [1, 1.645, 1.96, 2, 2.576, 3]],
];

describe('Student t, JCGM 100 table G.2', () => {
  it.each(g2)('%d degrees of freedom', (dof, row) => {
    for (const [i, t] of row.entries()) {
      const printed = Math.abs(t - Math.round(t * 100) / 100) > 1e-9 ? 5e-4 : t > 100 ? 0.05 : 5e-3;
      expect(Math.abs(coverageFactor(p[i] ?? 0, dof) - t)).toBeLessThanOrEqual(printed + 1e-9);
    }
  });
});

/** Critical values of Student t as in common tables, computed apart from this program to 4 places. */
describe('Student t', () => {
  it.each([
    [1, 0.975, 12.7062],
    [1, 0.9995, 636.6192],
    [2, 0.99, 6.9646],
    [3, 0.999, 10.2145],
    [4, 0.995, 4.6041],
    [5, 0.95, 2.015],
  ])('%d degrees of freedom, %d: %d', (dof, quantile, t) => {
    expect(studentQuantile(quantile, dof)).toBeCloseTo(t, 4);
  });

  it('takes degrees of freedom that are not whole: those of JCGM 100 H.1 unrounded', () => {
    // t99 of 16.75 lies between the rows of 16 and 17 (2.92 and 2.90).
    const t = coverageFactor(0.99, 16.75);
    expect(t).toBeLessThan(2.921);
    expect(t).toBeGreaterThan(2.898);
    for (const dof of [0.7, 1.5, 3.3, 8.9, 44.4, 1e6]) {
      for (const share of [0.01, 0.3, 0.975, 0.9999]) expect(Math.abs(studentCdf(studentQuantile(share, dof), dof) / share - 1)).toBeLessThan(1e-9);
    }
  });

  it('goes over into the normal distribution', () => {
    expect(coverageFactor(0.95, 1e7)).toBeCloseTo(coverageFactor(0.95, Infinity), 6);
    expect(coverageFactor(0.95, 1e8)).toBe(coverageFactor(0.95, Infinity));
    expect(studentCdf(1.959963984540054, Infinity)).toBeCloseTo(0.975, 12);
  });

  it('gives the p of Welch tests (NIST car mileage, two-sided 1.571e-25; Rosetta Code d1, d2: 0.021378001462867)', () => {
    expect(2 * studentCdf(-12.946267565658848, 136.8749900936937)).toBeCloseTo(1.571e-25, 28);
    expect(2 * studentCdf(-2.455356398286006, 24.988529290231416)).toBeCloseTo(0.021378001462867, 12);
  });

  it('gives the p of an F, small ones too', () => {
    // Common tables: F of 1 and 10 at 5 %: 4.9646, of 3 and 12 at 1 %: 5.9525.
    expect(pOfF(4.9646, 1, 10)).toBeCloseTo(0.05, 5);
    expect(pOfF(5.9525, 3, 12)).toBeCloseTo(0.01, 5);
    expect(pOfF(12.946267565658848 ** 2, 1, 136.8749900936937)).toBeCloseTo(1.571e-25, 28);
    expect(pOfF(0, 1, 10)).toBe(1);
    expect(pOfF(0, 3, 10)).toBe(1);
    expect(pOfF(Infinity, 1, 10)).toBe(0);
  });

  it.each<[string, () => number]>([
    ['A probability is 1.5', () => studentQuantile(1.5, 3)],
    ['A probability is 1 ', () => coverageFactor(1, 3)],
    ['The degrees of freedom is 0', () => studentQuantile(0.9, 0)],
    ['The degrees of freedom is NaN', () => studentCdf(0, Number.NaN)],
    ['An F is -1', () => pOfF(-1, 1, 3)],
  ])('refuses: %s', (why, act) => {
    expect(act).toThrow(why);
  });
});

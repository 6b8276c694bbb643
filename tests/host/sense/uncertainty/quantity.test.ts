import { describe, expect, it } from 'vitest';

import { budget, told } from '../../../../host/sense/uncertainty/budget.js';
import { correlated } from '../../../../host/sense/uncertainty/correlated.js';
import { dof, expanded, rectangleAndNormal_U } from '../../../../host/sense/uncertainty/coverage.js';
import { combine, correlation, covariance, difference, estimated, exact, known, product, ratio, u, within } from '../../../../host/sense/uncertainty/quantity.js';
import { propagate } from '../../../../host/sense/uncertainty/propagate.js';

const source = (id: string) => ({ id, says: id, kind: 'systematic' as const });

describe('a quantity', () => {
  it('adds independent sources by squares and one source by sensitivity', () => {
    const a = known(10, 'N', 3, source('a'));
    const b = known(20, 'N', 4, source('b'));
    expect(u(difference(a, b))).toBeCloseTo(5, 12);
    expect(u(difference(a, known(9, 'N', 3, source('a'))))).toBe(0);
    expect(covariance(product(a, b, 'N2'), a)).toBeCloseTo(20 * 9, 10);
    expect(correlation(a, b)).toBe(0);
    expect(correlation(a, exact(1, 'N'))).toBe(0);
  });

  it('takes limits for their standard deviation', () => {
    expect(u(within(0, 'K', 1, source('a')))).toBeCloseTo(1 / Math.sqrt(3), 12);
    expect(u(within(0, 'K', 1, source('a'), 'triangular'))).toBeCloseTo(1 / Math.sqrt(6), 12);
    expect(u(within(0, 'K', 1, source('a'), 'arcsine'))).toBeCloseTo(1 / Math.SQRT2, 12);
  });

  it('refuses what is no number', () => {
    expect(() => known(NaN, 'N', 1, source('a'))).toThrow(/INTERNAL|is NaN/);
    expect(() => known(1, 'N', NaN, source('a'))).toThrow(/uncertainty/);
  });

  it('gives what a covariance matrix says', () => {
    const matrix = [[4, 1.2, -0.3], [1.2, 1, 0.1], [-0.3, 0.1, 0.5]];
    const q = correlated([1, 2, 3].map((value) => ({ value, unit: '' })), matrix, { ...source('fit'), shape: 'student', dof: 7 });
    for (const [i, a] of q.entries()) for (const [j, b] of q.entries()) expect(covariance(a, b)).toBeCloseTo(matrix[i]?.[j] ?? NaN, 12);
    // One estimate, however many sources it was split into.
    expect(dof(combine(0, '', q.map((x) => [x, 1] as const)))).toBeCloseTo(7, 12);
    expect(budget(q[2] ?? exact(0, ''))).toHaveLength(1);
  });

  it('propagates through any function as the closed form does', () => {
    const a = known(3, 'V', 0.1, source('a'));
    const b = estimated(2, 'A', 0.2, 5, source('b'));
    const numeric = propagate((x, y) => x / y, [a, b], 'ohm');
    const closed = ratio(a, b, 'ohm');
    expect(u(numeric)).toBeCloseTo(u(closed), 6);
    expect(dof(numeric)).toBeCloseTo(dof(closed), 3);
  });
});

describe('coverage', () => {
  it('spreads a rectangle and a normal error as simulation does', () => {
    // 0.95 of a bare rectangle; of a bare normal, 1.96; between: convolution, checked by quadrature over the rectangle.
    expect(rectangleAndNormal_U(1, 0, 0.95)).toBeCloseTo(0.95, 12);
    expect(rectangleAndNormal_U(1e-3, 1, 0.95)).toBeCloseTo(1.959964, 5);
    for (const s of [0.1, 0.3, 1, 3]) {
      const U = rectangleAndNormal_U(1, s, 0.95);
      let held = 0;
      const n = 20_000;
      for (let i = 0; i < n; i++) {
        const r = -1 + (2 * (i + 0.5)) / n;
        held += (phi((U - r) / s) - phi((-U - r) / s)) / n;
      }
      expect(held).toBeCloseTo(0.95, 6);
    }
  });

  it('changes its rule where limits take over', () => {
    const noise = known(0, 'K', 1, { id: 'n', says: 'n', kind: 'random' });
    const few = combine(0, 'K', [[noise, 1], [within(0, 'K', 0.5, source('r')), 1]]);
    const much = combine(0, 'K', [[noise, 1], [within(0, 'K', 5, source('r')), 1]]);
    expect(expanded(few).rule).toBe('student');
    expect(expanded(much).rule).toBe('limits');
    expect(expanded(much).k).toBeLessThan(1.96);
    expect(told(much).budget.map((b) => b.source)).toEqual(['r', 'n']);
    expect(told(much).dof).toBeNull();
  });
});

/** Abramowitz and Stegun 7.1.26 is too coarse here: the series of erf. */
function phi(z: number): number {
  if (Math.abs(z) > 7) return z > 0 ? 1 : 0;
  let term = z;
  let s = z;
  for (let k = 1; k < 200; k++) {
    term *= -(z * z) / (2 * k);
    s += term / (2 * k + 1);
  }
  return 0.5 + s / Math.sqrt(2 * Math.PI);
}

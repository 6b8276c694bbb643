import { inverse, Matrix } from 'ml-matrix';
import { describe, expect, it } from 'vitest';

import { varianceOfMean, whitener } from '../../../../host/reduce/fade/wander.js';
import { wandering } from './made.js';

const wander = { white: 0.3, slow: 0.5, slow_s: 300 };
const covariance = (t: readonly number[]): Matrix => new Matrix(t.map((a, i) => t.map((b, j) => wander.slow ** 2 * Math.exp(-Math.abs(a - b) / wander.slow_s) + (i === j ? wander.white ** 2 : 0))));

describe('a wander taken out of a series', () => {
  it('leaves the sums of squares of generalised least squares, over gaps too', () => {
    const t = [0, 10, 20, 30, 50, 60, 400, 410, 420, 1000];
    const y = t.map((x) => Math.sin(x) + 0.01 * x);
    const c = inverse(covariance(t));
    const white = whitener(t, wander);
    const [a, b] = [white.of(y), white.of(t.map(() => 1))];
    const through = (u: readonly number[], v: readonly number[]): number => Matrix.rowVector([...u]).mmul(c).mmul(Matrix.columnVector([...v])).get(0, 0);
    const dot = (u: Float64Array, v: Float64Array): number => u.reduce((s, x, i) => s + x * (v[i] as number), 0);
    expect(dot(a, a)).toBeCloseTo(through(y, y), 9);
    expect(dot(a, b)).toBeCloseTo(through(y, t.map(() => 1)), 9);
  });

  it('leaves numbers that know nothing of each other', () => {
    const readings = wandering(wander, 4000, 3);
    const z = whitener(readings.map((r) => r.t_s), wander).of(readings.map((r) => r.value));
    const at = (lag: number): number => z.slice(lag).reduce((s, x, i) => s + x * (z[i] as number), 0) / z.length;
    expect(Math.abs(at(0) - 1)).toBeLessThan(0.08);
    for (const lag of [1, 2, 10, 30]) expect(Math.abs(at(lag))).toBeLessThan(0.06);
  });

  it('has a mean that is known as well as all its covariances say', () => {
    const t = Array.from({ length: 60 }, (_, i) => 10 * i);
    const all = covariance(t).sum() / t.length ** 2;
    expect(varianceOfMean(wander, 600, 10) / all).toBeGreaterThan(0.97);
    expect(varianceOfMean(wander, 600, 10) / all).toBeLessThan(1.03);
  });
});

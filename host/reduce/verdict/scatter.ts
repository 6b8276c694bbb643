import { fCdf } from '../../sense/fit/distributions.js';

/** A standard deviation with its degrees of freedom. */
export interface Scatter {
  readonly sd: number;
  readonly dof: number;
}

/**
 * Scatter of runs about the mean of their own build, pooled over all builds that have two or more: what strip, rebuild
 * and another day do to a number. null: no build was run twice.
 *
 * @param builds logarithms of the runs' results, one list a build
 */
export function pooledScatter(builds: readonly (readonly number[])[]): Scatter | null {
  let squares = 0;
  let dof = 0;
  for (const runs of builds) {
    if (runs.length < 2) continue;
    squares += squaresOf(runs);
    dof += runs.length - 1;
  }
  return dof === 0 ? null : { sd: Math.sqrt(squares / dof), dof };
}

/** A chance below this is taken for a plain difference of two scatters. */
const PLAINLY = 0.01;

/** Whether two independent scatters plainly differ (two-sided F test at 1 %). */
export function plainlyDiffer(a: Scatter, b: Scatter): boolean {
  if (a.sd === 0 || b.sd === 0) return a.sd !== b.sd;
  const p = fCdf((a.sd / b.sd) ** 2, a.dof, b.dof);
  return 2 * Math.min(p, 1 - p) < PLAINLY;
}

export const meanOf = (x: readonly number[]): number => x.reduce((s, v) => s + v, 0) / x.length;

export function squaresOf(x: readonly number[]): number {
  const m = meanOf(x);
  return x.reduce((s, v) => s + (v - m) ** 2, 0);
}

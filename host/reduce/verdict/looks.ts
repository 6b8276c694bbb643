import { normalCdf, normalQuantile } from '../../sense/fit/distributions.js';
/**
 * A comparison that is looked at after each pair of runs has as many chances to be fooled as there are looks. The plan says
 * beforehand how often it will be looked at, and each look gets such a level that all of them together are wrong as rarely
 * as was promised.
 */
export interface Plan {
  /** Runs on each side at the first look, and at the last. */
  readonly first_n: number;
  readonly last_n: number;
  /** Chance of a false call over all looks. */
  readonly alpha: number;
}

/**
 * constant: every look has the same level, for a difference that one wants to see soon. late: hardly any at the first
 * looks, nearly all at the last, for a claim that gets sharper with each run.
 */
export type Spending = 'constant' | 'late';

/**
 * Level of each look, two-sided or one-sided, by Armitage's recursion over the sum of the differences (P. Armitage, C. McPherson,
 * B. Rowe, J. R. Statist. Soc. A 132 (1969) 235; the shapes are those of Pocock, and of O'Brien and Fleming).
 *
 * @returns one level for each n from first_n to last_n
 */
export function levels(plan: Plan, spending: Spending, sides: 1 | 2): number[] {
  const counts = Array.from({ length: plan.last_n - plan.first_n + 1 }, (_, i) => plan.first_n + i);
  const bound = (c: number, n: number): number => (spending === 'constant' ? c : c * Math.sqrt(plan.last_n / n));
  let low = 0.5;
  let high = 8;
  for (let i = 0; i < 34; i++) {
    const mid = (low + high) / 2;
    if (falseCalls(counts, counts.map((n) => bound(mid, n)), sides) > plan.alpha) low = mid;
    else high = mid;
  }
  return counts.map((n) => sides * (1 - normalCdf(bound(high, n), 0, 1)));
}

/** Steps across one standard deviation of a single pair: Simpson's rule is then good to 1e-7. */
const STEPS_a_SD = 12;
/** So far below nothing is left, in standard deviations of the first sum. */
const FAR_sd = 7;

/** Chance that the standardised sum of n unit-variance differences leaves its bound at any of the looks. */
export function falseCalls(counts: readonly number[], z: readonly number[], sides: 1 | 2): number {
  let called = 0;
  let grid: Grid | null = null;
  let before = 0;
  for (const [i, n] of counts.entries()) {
    const top = (z[i] ?? Infinity) * Math.sqrt(n);
    const bottom = sides === 2 ? -top : -FAR_sd * Math.sqrt(n);
    const sd = Math.sqrt(n - before);
    const from = grid;
    const density = (x: number): number => (from === null ? normal(x / sd) / sd : from.sum((s) => normal((x - s) / sd) / sd));
    called += from === null ? sides * (1 - normalCdf(top / sd, 0, 1)) : from.sum((s) => 1 - normalCdf((top - s) / sd, 0, 1) + (sides === 2 ? normalCdf((bottom - s) / sd, 0, 1) : 0));
    grid = gridOf(bottom, top, density);
    before = n;
  }
  return called;
}

/** A density over one stretch, for Simpson's rule. */
interface Grid {
  sum(f: (s: number) => number): number;
}

function gridOf(from: number, to: number, density: (x: number) => number): Grid {
  const n = 2 * Math.ceil(((to - from) * STEPS_a_SD) / 2);
  const h = (to - from) / n;
  const x = Array.from({ length: n + 1 }, (_, i) => from + i * h);
  const w = x.map((v, i) => density(v) * (h / 3) * (i === 0 || i === n ? 1 : i % 2 === 1 ? 4 : 2));
  return { sum: (f) => x.reduce((s, v, i) => s + (w[i] ?? 0) * f(v), 0) };
}

const normal = (z: number): number => Math.exp((-z * z) / 2) / Math.sqrt(2 * Math.PI);

/** Standard normal quantile, for the runs that a plan would still need. */
export const z_of = (p: number): number => normalQuantile(p, 0, 1);

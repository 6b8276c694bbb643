import { fail } from '../../errors.js';
import { meanOf, sumOf } from './sums.js';

export interface Described {
  readonly n: number;
  readonly mean: number;
  /** Of one reading (n - 1); null for a single one. */
  readonly sd: number | null;
  /** r1 = sum (y_i - m)(y_(i-1) - m) / sum (y_i - m)^2; null where all readings are equal. */
  readonly lag1: number | null;
  /** As many readings without memory would know the mean as well; from 1 to n. */
  readonly n_effective: number;
  /** Of the mean, with n_effective - 1 degrees of freedom; null where the series is too short for its own memory. */
  readonly u_mean: number | null;
  readonly dof: number;
}

/** Lags are summed up to this share of the series: beyond, too few pairs are left to judge by. */
const LAGS_OF_n = 1 / 4;

/** Readings of one quantity in the order in which they came. Two passes with compensated sums. @throws READINGS_UNFIT for none, or one that is no number */
export function describe(y: readonly number[]): Described {
  const n = y.length;
  if (n === 0 || !y.every(Number.isFinite)) throw fail('READINGS_UNFIT', { why: n === 0 ? 'there are none' : 'one is no finite number' });
  const mean = meanOf(y);
  const d = y.map((v) => v - mean);
  const squares = sumOf(d.map((v) => v * v));
  const sd = n > 1 ? Math.sqrt(squares / (n - 1)) : null;
  const lag1 = squares > 0 ? lagged(d, 1) / squares : null;
  const n_effective = effective(d, squares);
  const dof = n_effective - 1;
  // Readings with memory scatter less about their own mean than about the true one: E s^2 = sigma^2 (n - n/n_eff) / (n - 1).
  const u_mean = sd === null || dof <= 0 ? null : sd * Math.sqrt((n - 1) / (n * dof));
  return { n, mean, sd, lag1, n_effective, u_mean, dof };
}

/**
 * n over 1 + 2 sum (1 - k/n) r_k, summed in pairs of lags while the pairs are above 0
 * (initial positive sequence of Geyer): noise alone ends the sum soon, memory keeps it
 * going. A series that alternates counts as n, not more.
 */
function effective(d: readonly number[], squares: number): number {
  const n = d.length;
  if (squares <= 0) return n;
  const r = (k: number): number => ((1 - k / n) * lagged(d, k)) / squares;
  let spread = 1 + 2 * r(1);
  for (let k = 2; k + 1 <= n * LAGS_OF_n; k += 2) {
    const pair = r(k) + r(k + 1);
    if (pair <= 0) break;
    spread += 2 * pair;
  }
  return Math.min(n, Math.max(1, n / Math.max(spread, 1)));
}

function lagged(d: readonly number[], k: number): number {
  return sumOf(d.slice(k).map((v, i) => v * (d[i] ?? 0)));
}

export function median(y: readonly number[]): number {
  if (y.length === 0) throw fail('READINGS_UNFIT', { why: 'there are none' });
  const sorted = y.toSorted((a, b) => a - b);
  const half = sorted.length >> 1;
  const upper = sorted[half] ?? Number.NaN;
  return sorted.length % 2 === 1 ? upper : ((sorted[half - 1] ?? Number.NaN) + upper) / 2;
}

/** What makes the median absolute deviation of normal readings their sd: 1 / quantile of 0.75. */
const MAD_TO_SD = 1.482602218505602;

/** Median, and the sd by the median absolute deviation: neither moves for a few wild readings. @throws READINGS_UNFIT */
export function robust(y: readonly number[]): { readonly median: number; readonly sd: number } {
  const middle = median(y);
  return { median: middle, sd: MAD_TO_SD * median(y.map((v) => Math.abs(v - middle))) };
}

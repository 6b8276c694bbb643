import { normalQuantile } from '../../sense/fit/distributions.js';
import type { Reading } from '../steady/trend.js';
import type { Wander } from './wander.js';

/** Median of the slopes between all pairs, with the 95 % interval. */
export interface RobustSlope {
  readonly per_s: number;
  readonly low_per_s: number;
  readonly high_per_s: number;
  /** Readings that it rests on. */
  readonly n: number;
}

/** More readings than this are put together by medians first: pairs go with the square. */
const READINGS_MOST = 600;
const SIDED = normalQuantile(0.975, 0, 1);

/**
 * Slope by H. Theil (Proc. Kon. Ned. Akad. Wet. 53 (1950) 386) and P. K. Sen (J. Am. Statist. Assoc. 63 (1968) 1379): a quarter
 * of the readings may be wild. The interval is Sen's, by ranks of the slopes; Kendall's variance in it holds for independent
 * readings, so it is widened by what this wander does to the variance of a slope.
 *
 * @param wander null: readings are independent
 * @returns null: fewer than three readings
 */
export function theilSen(readings: readonly Reading[], wander: Wander | null = null): RobustSlope | null {
  const used = thinned(readings);
  const n = used.length;
  if (n < 3) return null;
  const slopes = new Float64Array((n * (n - 1)) / 2);
  let k = 0;
  for (let i = 0; i < n; i++) {
    const { t_s, value } = used[i] as Reading;
    for (let j = 0; j < i; j++) {
      const before = used[j] as Reading;
      if (t_s > before.t_s) slopes[k++] = (value - before.value) / (t_s - before.t_s);
    }
  }
  const sorted = slopes.subarray(0, k).sort();
  const ties = tiesOf(used.map((r) => r.value));
  const kendall = (n * (n - 1) * (2 * n + 5) - ties) / 18;
  const away = SIDED * Math.sqrt(kendall * (wander === null ? 1 : widened(used, wander)));
  const rank = (r: number): number => sorted[Math.max(0, Math.min(k - 1, r))] as number;
  return {
    per_s: k % 2 === 1 ? rank(k >> 1) : (rank(k / 2 - 1) + rank(k / 2)) / 2,
    low_per_s: rank(Math.round((k - away) / 2) - 1),
    high_per_s: rank(Math.round((k + away) / 2)),
    n,
  };
}

function thinned(readings: readonly Reading[]): readonly Reading[] {
  const per = Math.ceil(readings.length / READINGS_MOST);
  if (per <= 1) return readings;
  return Array.from({ length: Math.floor(readings.length / per) }, (_, i) => {
    const of = readings.slice(i * per, (i + 1) * per);
    return { t_s: medianOf(of.map((r) => r.t_s)), value: medianOf(of.map((r) => r.value)) };
  });
}

export function medianOf(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const mid = sorted.length >> 1;
  return sorted.length % 2 === 1 ? (sorted[mid] as number) : ((sorted[mid - 1] as number) + (sorted[mid] as number)) / 2;
}

function tiesOf(values: readonly number[]): number {
  const counts = new Map<number, number>();
  for (const v of values) counts.set(v, (counts.get(v) ?? 0) + 1);
  let sum = 0;
  for (const c of counts.values()) sum += c * (c - 1) * (2 * c + 5);
  return sum;
}

/** Variance of the least-squares slope under the wander over that under white noise of the same variance. */
function widened(readings: readonly Reading[], wander: Wander): number {
  const n = readings.length;
  const t = readings.map((r) => r.t_s);
  const mean = t.reduce((s, x) => s + x, 0) / n;
  const c = t.map((x) => x - mean);
  const cc = c.reduce((s, x) => s + x * x, 0);
  const { white, slow, slow_s } = wander;
  // Sum over pairs of c_i c_j exp(-|t_i - t_j| / slow_s), by one pass: each term carries on what came before it.
  let slowly = 0;
  let carried = 0;
  for (let i = 0; i < n; i++) {
    carried *= i === 0 ? 0 : Math.exp(-((t[i] as number) - (t[i - 1] as number)) / slow_s);
    slowly += 2 * (c[i] as number) * carried + (c[i] as number) ** 2;
    carried += c[i] as number;
  }
  return Math.max(1, (white * white * cc + slow * slow * slowly) / (cc * (white * white + slow * slow)));
}


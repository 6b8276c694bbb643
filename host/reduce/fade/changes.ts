import type { Reading } from '../steady/trend.js';
import { CusumSum } from './cusum.js';
import { medianOf } from './theil_sen.js';
import { whitener } from './wander.js';
import type { Wander, Whitener } from './wander.js';

/** ramp: it began to move and goes on. step: it jumped. */
export type ChangeShape = 'ramp' | 'step';

export interface Change {
  readonly shape: ChangeShape;
  /** When it began, with the 95 % interval of that. */
  readonly since_s: number;
  readonly since_least_s: number;
  readonly since_most_s: number;
  /** When there was enough to say so. */
  readonly seen_s: number;
  /** Last reading by which it still moved the same way. */
  readonly until_s: number;
  /** How far it had come when it was seen, in the unit of the series, and the standard uncertainty of that. */
  readonly size: number;
  readonly u_size: number;
  /** In standard uncertainties, of the best fit. */
  readonly z: number;
}

export interface ChangeSettings {
  readonly wander: Wander;
  /** In standard uncertainties. */
  readonly z_least: number;
  /** A level is taken from so much at least, and looked back upon for so long at most. */
  readonly before_s: number;
  readonly back_s: number;
}

/** Onsets are tried this far apart, in readings, but for the newest; so often is looked. */
const STRIDE = 3;
const NEWEST = 12;
/** One wild reading is no step. */
const AFTER_LEAST = 2;
/** Of the sums that let a closer look be taken, in standard deviations: low, since the closer look decides. */
const ALLOWANCE = 0.25;
const SCREEN = 4;
/** Twice the fall of the log likelihood at the ends of a 95 % interval (chi-square, one degree of freedom). */
const LIKELY = 3.84;
const MAD_TO_SD = 1.4826;
/** A change that begins anew so soon after one was seen, the same way, is still that one. */
const SAME_WITHIN_s = 600;

/**
 * When a series began to move or jumped, one after the other: cumulative sums of the readings freed from their wander let a
 * closer look be taken, by the greatest likelihood ratio over all onsets of a ramp and of a step against an unknown level
 * (G. Lorden, Ann. Math. Statist. 42 (1971) 1897). As it would be seen live: no reading after `seen_s` is used to see it.
 *
 * @param readings rising in time
 */
export function findChanges(readings: readonly Reading[], settings: ChangeSettings): Change[] {
  const t = Float64Array.from(readings, (r) => r.t_s);
  const y = Float64Array.from(readings, (r) => r.value);
  const found: Change[] = [];
  let from = 0;
  while (from < t.length - 1) {
    const seen = nextChange(t, y, from, settings);
    if (seen === null) break;
    const { change, at } = seen;
    const last = found.at(-1);
    if (last !== undefined && Math.sign(last.size) === Math.sign(change.size) && change.since_least_s <= last.until_s + SAME_WITHIN_s) found[found.length - 1] = { ...last, until_s: change.seen_s };
    else found.push(change);
    from = at + 1;
  }
  return found;
}

function nextChange(t: Float64Array, y: Float64Array, from: number, settings: ChangeSettings): { readonly change: Change; readonly at: number } | null {
  const { wander, before_s, back_s } = settings;
  const begun = Math.max(from + 2, firstFrom(t, (t[from] as number) + before_s));
  if (begun >= t.length) return null;
  const level = medianOf(Array.from(y.subarray(from, begun)));
  const off = whitener(t.subarray(from), wander).of(y.subarray(from).map((v) => v - level));
  const sums = new CusumSum(0, ALLOWANCE);
  for (let i = from; i < t.length; i++) {
    const { high, low } = sums.next(off[i - from] as number);
    if (i < begun || Math.max(high, low) < SCREEN || (i - begun) % STRIDE !== 0) continue;
    const change = changeAt(t, y, Math.max(from, firstFrom(t, (t[i] as number) - back_s)), i, settings);
    if (change !== null) return { change, at: i };
  }
  return null;
}

/** The best change within readings [from, to], if there is one. */
function changeAt(t: Float64Array, y: Float64Array, from: number, to: number, { wander, before_s, z_least }: ChangeSettings): Change | null {
  const times = t.subarray(from, to + 1);
  const tried = fits(times, y.subarray(from, to + 1), whitener(times, wander), firstFrom(times, (times[0] as number) + before_s));
  const best = tried.reduce<Fit | null>((b, f) => (b === null || f.gain > b.gain ? f : b), null);
  if (best === null || best.gain < z_least * z_least * best.noise) return null;
  const near = tried.filter((f) => f.shape === best.shape && best.gain - f.gain < LIKELY * best.noise).map((f) => f.since_s);
  const seen_s = t[to] as number;
  const reach = best.shape === 'step' ? 1 : seen_s - best.since_s;
  return {
    shape: best.shape,
    since_s: best.since_s,
    since_least_s: Math.min(...near),
    since_most_s: Math.max(...near),
    seen_s,
    until_s: seen_s,
    size: best.slope * reach,
    u_size: best.u_slope * reach * Math.sqrt(best.noise),
    z: Math.sqrt(best.gain / best.noise),
  };
}

interface Fit {
  readonly shape: ChangeShape;
  readonly since_s: number;
  readonly slope: number;
  readonly u_slope: number;
  /** Squares less by it. */
  readonly gain: number;
  /** Variance of what is left over that of the wander, never below it. */
  readonly noise: number;
}

function fits(t: Float64Array, y: Float64Array, white: Whitener, first: number): Fit[] {
  const n = t.length;
  const one = white.of(new Float64Array(n).fill(1));
  const oneOne = dot(one, one, 0);
  const z = white.of(y);
  const level = dot(z, one, 0) / oneOne;
  for (let i = 0; i < n; i++) z[i] = (z[i] as number) - level * (one[i] as number);
  const noise = noiseOf(z);
  const found: Fit[] = [];
  const shape = new Float64Array(n);
  for (let k = first; k <= n - AFTER_LEAST; k += k < n - NEWEST ? STRIDE : 1) {
    for (const kind of ['ramp', 'step'] as const) {
      const since_s = t[k - 1] as number;
      for (let i = 0; i < n; i++) shape[i] = i < k ? 0 : kind === 'step' ? 1 : (t[i] as number) - since_s;
      const x = white.of(shape);
      const along = dot(x, one, k) / oneOne;
      const xx = dot(x, x, k) - along * along * oneOne;
      if (!(xx > 0)) continue;
      // z is free of the level, so the level's part in x does not matter.
      const xz = dot(x, z, k);
      found.push({ shape: kind, since_s, slope: xz / xx, u_slope: 1 / Math.sqrt(xx), gain: (xz * xz) / xx, noise });
    }
  }
  return found;
}

/** By the median of neighbours' differences: a change in level has no part in it. */
function noiseOf(z: Float64Array): number {
  const steps = Array.from({ length: z.length - 1 }, (_, i) => Math.abs((z[i + 1] as number) - (z[i] as number)));
  return Math.max(1, ((MAD_TO_SD * medianOf(steps)) ** 2) / 2);
}

function dot(a: Float64Array, b: Float64Array, from: number): number {
  let s = 0;
  for (let i = from; i < a.length; i++) s += (a[i] as number) * (b[i] as number);
  return s;
}

function firstFrom(t: ArrayLike<number>, t_s: number): number {
  let low = 0;
  let high = t.length;
  while (low < high) {
    const mid = (low + high) >> 1;
    if ((t[mid] as number) < t_s) low = mid + 1;
    else high = mid;
  }
  return low;
}

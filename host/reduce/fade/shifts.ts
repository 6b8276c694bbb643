import type { Reading } from '../steady/trend.js';
import { features } from './features.js';
import type { Feature, FeatureSeries } from './features.js';
import { medianOf } from './theil_sen.js';
import { varianceOfMean, whitener } from './wander.js';
import type { Wander } from './wander.js';

/** How far a feature has moved from where it stood. */
export interface Shift {
  readonly value: number;
  readonly u: number;
}
export type Shifts = Readonly<Record<Feature, Shift | null>>;

/** The end is a mean over so much; what stood before is looked at for so long, and needs so many readings. */
const LAST_s = 120;
const BEFORE_s = 1800;
const BEFORE_LEAST_n = 12;
const APART_s = 10;

/** Of every feature, from before `since_s` to the last two minutes before `at_s`; null: missing there or before. */
export function shiftsOf(series: FeatureSeries, since_s: number, at_s: number, wanders: Readonly<Record<Feature, Wander>>): Shifts {
  return Object.fromEntries(features.map((f) => [f, shiftOf(series[f], since_s, at_s, wanders[f])])) as unknown as Shifts;
}

function shiftOf(readings: readonly Reading[], since_s: number, at_s: number, wander: Wander): Shift | null {
  const before = readings.filter((r) => r.t_s <= since_s && r.t_s > since_s - BEFORE_s);
  const last = readings.filter((r) => r.t_s <= at_s && r.t_s > Math.max(since_s, at_s - LAST_s));
  if (before.length < BEFORE_LEAST_n || last.length < 3) return null;
  const level = levelOf(before, wander);
  const now = last.reduce((s, r) => s + r.value, 0) / last.length;
  // Wander of the level and of the end are as good as independent ten minutes apart: at worst this says a little too much.
  return { value: now - level.value, u: Math.sqrt(level.variance + varianceOfMean(wander, LAST_s, APART_s)) };
}

/** By generalised least squares, from readings whose wildest are drawn in. */
function levelOf(readings: readonly Reading[], wander: Wander): { readonly value: number; readonly variance: number } {
  const mid = medianOf(readings.map((r) => r.value));
  const far = 4 * Math.hypot(wander.white, wander.slow);
  const white = whitener(readings.map((r) => r.t_s), wander);
  const one = white.of(readings.map(() => 1));
  const y = white.of(readings.map((r) => Math.max(-far, Math.min(far, r.value - mid))));
  let oneOne = 0;
  let oneY = 0;
  for (let i = 0; i < one.length; i++) {
    oneOne += (one[i] as number) ** 2;
    oneY += (one[i] as number) * (y[i] as number);
  }
  return { value: mid + oneY / oneOne, variance: 1 / oneOne };
}

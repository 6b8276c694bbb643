import type { Reading } from '../steady/trend.js';
import type { FadeChannel, FadeReading } from './reading.js';
import { medianOf } from './theil_sen.js';
import type { Wander } from './wander.js';

export type BrakeLaw = 'eddy' | 'rope';

/**
 * What a fault is known by: each in hundredths, of itself or of the span between hot end and coolant inlet.
 * brake: what the brake does,
 * whatever the speed (eddy: torque over speed; rope: torque). skin: above the inlet. swing_along: torque that swings once a turn, by its size; swing_across: by its angle.
 */
export const features = ['power', 'speed', 'brake', 'hot', 'inlet', 'difference', 'flow', 'skin', 'swing_along', 'swing_across'] as const;
export type Feature = (typeof features)[number];

/** What a feature is made of, for words and for "cannot tell". */
export const madeOf: Readonly<Record<Feature, FadeChannel>> = {
  power: 'power_W',
  speed: 'speed_rpm',
  brake: 'torque_Nm',
  hot: 'hot_C',
  inlet: 'coolant_in_C',
  difference: 'coolant_difference_K',
  flow: 'flow_Lpmin',
  skin: 'skin_C',
  swing_along: 'swing_share',
  swing_across: 'swing_deg',
};

/**
 * How a sound bench moves, in hundredths: power with 0.3 % white noise on ten-second means and 0.5 % of 5 min, to which a heater
 * within 1 % adds; the others as such a bench moves them (simulated). A flow that a pump holds: common practice, no source.
 */
export const soundWander: Readonly<Record<Feature, Wander>> = {
  power: { white: 0.3, slow: 0.6, slow_s: 300 },
  speed: { white: 0.15, slow: 0.3, slow_s: 300 },
  brake: { white: 0.08, slow: 0.15, slow_s: 900 },
  hot: { white: 0.05, slow: 0.6, slow_s: 600 },
  inlet: { white: 0.02, slow: 0.1, slow_s: 3600 },
  difference: { white: 0.3, slow: 0.7, slow_s: 600 },
  flow: { white: 0.3, slow: 0.5, slow_s: 600 },
  skin: { white: 0.02, slow: 0.12, slow_s: 600 },
  swing_along: { white: 0.3, slow: 0.5, slow_s: 300 },
  swing_across: { white: 0.3, slow: 0.3, slow_s: 300 },
};

/** Hot end less coolant inlet at the start, which their moves are told by; where one is missing, a small engine's (common practice, no source). */
const SPAN_UNKNOWN_K = 300;
const SPAN_LEAST_K = 20;
const START_readings = 30;

export type FeatureSeries = Readonly<Record<Feature, readonly Reading[]>>;

/** Series of each feature, without the readings that lack it. */
export function featuresOf(readings: readonly FadeReading[], brake: BrakeLaw): { readonly series: FeatureSeries; readonly span_K: number } {
  const hot_C = startOf(readings, 'hot_C');
  const in_C = startOf(readings, 'coolant_in_C');
  const span_K = hot_C === null || in_C === null ? SPAN_UNKNOWN_K : Math.max(SPAN_LEAST_K, hot_C - in_C);
  const percent = 100 / span_K;
  const log = (x: number | null): number | null => (x !== null && x > 0 ? 100 * Math.log(x) : null);
  const plus = (a: number | null, b: number | null, times = 1): number | null => (a === null || b === null ? null : a + times * b);
  const of: Record<Feature, (r: FadeReading) => number | null> = {
    power: (r) => log(r.power_W),
    speed: (r) => log(r.speed_rpm),
    brake: (r) => (brake === 'rope' ? log(r.torque_Nm) : plus(log(r.torque_Nm), log(r.speed_rpm), -1)),
    hot: (r) => (r.hot_C === null ? null : r.hot_C * percent),
    inlet: (r) => (r.coolant_in_C === null ? null : r.coolant_in_C * percent),
    difference: (r) => log(r.coolant_difference_K),
    flow: (r) => log(r.flow_Lpmin),
    skin: (r) => (r.skin_C === null ? null : (r.skin_C - (r.coolant_in_C ?? 0)) * percent),
    swing_along: (r) => plus(log(r.swing_share), log(r.speed_rpm), 2),
    swing_across: (r) => (r.swing_deg === null ? null : (100 * Math.PI * r.swing_deg) / 180),
  };
  const series = Object.fromEntries(features.map((f) => [f, readings.flatMap((r) => {
    const value = of[f](r);
    return value === null || !Number.isFinite(value) ? [] : [{ t_s: r.t_s, value }];
  })])) as unknown as Record<Feature, Reading[]>;
  series.swing_across = unwrapped(series.swing_across);
  return { series, span_K };
}

function startOf(readings: readonly FadeReading[], channel: FadeChannel): number | null {
  const first = readings.flatMap((r) => r[channel] ?? []).slice(0, START_readings);
  return first.length === 0 ? null : medianOf(first);
}

/** An angle that goes on past half a turn. */
function unwrapped(readings: readonly Reading[]): Reading[] {
  const turn = 200 * Math.PI;
  let last = NaN;
  return readings.map(({ t_s, value }) => {
    last = Number.isNaN(last) ? value : value - turn * Math.round((value - last) / turn);
    return { t_s, value: last };
  });
}

import { eventSettings, fadeEvents } from './events.js';
import type { EventSettings, FadeEvent } from './events.js';
import { featuresOf } from './features.js';
import { heldStretches } from './held.js';
import type { FadeReading } from './reading.js';
import { theilSen } from './theil_sen.js';
import { evidenceOf, lookOf, saysOf } from './words.js';

/** Share of power that a run gains (loses: below 0), in hundredths, with the 95 % interval. */
export interface FadeSlope {
  readonly percent_per_h: number;
  readonly low_percent_per_h: number;
  readonly high_percent_per_h: number;
  readonly percent_per_10min: number;
  readonly readings: number;
}

export interface FadeFinding extends FadeEvent {
  readonly says: string;
  readonly evidence: readonly string[];
  readonly look: string | null;
}

/** One stretch at a brake that nobody touched. */
export interface HeldFade {
  readonly from_s: number;
  readonly to_s: number;
  /** Of all of it; null: power was not measured, or the stretch is shorter than five minutes. */
  readonly slope: FadeSlope | null;
  /** Of its last ten minutes. */
  readonly slope_last: FadeSlope | null;
  readonly findings: readonly FadeFinding[];
  readonly readings: readonly FadeReading[];
}

export interface FadeReport {
  readonly stretches: readonly HeldFade[];
  /** Why there is none; null: there are. */
  readonly why: string | null;
}

export interface FadeSettings extends Omit<EventSettings, 'curve_slope'> {
  /** dlnT/dlnn of the last known curve at a speed; null: no curve is known there. */
  readonly curve_slope_at: ((speed_rpm: number) => number | null) | null;
}

export const fadeSettings: FadeSettings = { ...eventSettings, curve_slope_at: null };

/** Shorter, there is no slope of a run. */
const SHORTEST_s = 300;
const LAST_s = 600;

/**
 * Fade and change of a long run, stretch by stretch: how fast power goes, when what began to move, and what that looks like.
 *
 * @param readings of the whole run, rising in time
 */
export function fadeReport(readings: readonly FadeReading[], settings: FadeSettings = fadeSettings): FadeReport {
  const stretches = heldStretches(readings, settings.law).filter((h) => h.to_s - h.from_s >= SHORTEST_s);
  if (stretches.length === 0) return { stretches: [], why: readings.length === 0 ? 'nothing was measured' : 'the brake was nowhere held for five minutes with the shaft turning and the hot end settled' };
  return {
    why: null,
    stretches: stretches.map((held): HeldFade => {
      const { series, span_K } = featuresOf(held.readings, settings.law);
      const speed_rpm = held.readings[0]?.speed_rpm ?? null;
      const curve_slope = speed_rpm === null ? null : (settings.curve_slope_at?.(speed_rpm) ?? null);
      const slopeSince = (from_s: number): FadeSlope | null => slopeOf(series.power.filter((r) => r.t_s >= from_s), settings);
      return {
        from_s: held.from_s,
        to_s: held.to_s,
        slope: slopeSince(held.from_s),
        slope_last: slopeSince(held.to_s - LAST_s),
        findings: fadeEvents(series, { ...settings, curve_slope }).map((event) => ({ ...event, says: saysOf(event.found), evidence: evidenceOf(event, span_K, settings.law), look: lookOf(event.found) })),
        readings: held.readings,
      };
    }),
  };
}

function slopeOf(power: readonly { readonly t_s: number; readonly value: number }[], { wander }: FadeSettings): FadeSlope | null {
  const [first, last] = [power[0], power.at(-1)];
  if (first === undefined || last === undefined || last.t_s - first.t_s < 0.9 * SHORTEST_s) return null;
  const slope = theilSen(power, wander.power);
  if (slope === null) return null;
  // Hundredths of the logarithm are per cent for what a run can bear.
  return { percent_per_h: slope.per_s * 3600, low_percent_per_h: slope.low_per_s * 3600, high_percent_per_h: slope.high_per_s * 3600, percent_per_10min: slope.per_s * 600, readings: slope.n };
}

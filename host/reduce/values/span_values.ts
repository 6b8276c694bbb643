import type { Channel } from '../../sense/calibration/model.js';
import type { Knowledge, Span } from '../span.js';
import type { Aliasing } from './aliasing.js';
import { enteredValues } from './entered_values.js';
import { loadValues, POWER_IS } from './load_values.js';
import type { Acceleration } from './load_values.js';
import { shaftOf } from './shaft.js';
import type { ShaftState } from './shaft.js';
import { thermalValues } from './thermal_values.js';
import type { Value, ValueName } from './value.js';

/** What one span comes to. All means are over the same time as far as its streams allow. */
export interface Values extends Readonly<Record<ValueName, Value>> {
  readonly boot_id: number;
  readonly simulated: boolean;
  readonly tick_from: number;
  readonly tick_to: number;
  readonly from_utc_us: number | null;
  readonly duration_s: number;
  readonly shaft: ShaftState;
  /** Whole ones, of which torque and speed are means; 0 where the shaft stands. */
  readonly revolutions: number;
  readonly power_is: typeof POWER_IS;
  readonly slow_covariance_W: number | null;
  readonly acceleration: Acceleration | null;
  readonly aliasing: readonly Aliasing[];
  readonly discarded: Discarded;
  /** Conversions in the torque, and their measured rate. */
  readonly conversions: number;
  readonly conversion_rate_Hz: number | null;
  readonly zero_says: string | null;
  readonly verified: boolean;
  /** What it lacks for that. */
  readonly lacks: readonly string[];
  readonly warnings: readonly string[];
  readonly cites: { readonly cal_ids: readonly number[]; readonly zero_ids: readonly number[]; readonly check_ids: readonly number[]; readonly entered_ids: readonly number[] };
}

/** What was left out of the means, or repaired. */
export interface Discarded {
  /** Conversions that the board flagged, and impossible ones. */
  readonly flagged: number;
  readonly glitches: number;
  /** Edges that did not come, and those too many. */
  readonly missed_edges: number;
  readonly extra_edges: number;
  /** Messages known to be lost, of all streams. */
  readonly lost: number;
  readonly holes: number;
}

const USED: readonly Channel[] = ['load', 'hot', 'coolant_in', 'coolant_out', 'coolant_match', 'flow'];

/**
 * Torque, speed, power, temperatures, heat and heat input over a span, each with every source of its doubt or with the
 * reason why it is none. A shaft that turns: over whole revolutions. One that stands: over time. Pure.
 */
export function spanValues(span: Span, knowledge: Knowledge): Values {
  const shaft = shaftOf(span, knowledge.magnets);
  const load = loadValues(span, knowledge, shaft);
  const { counts } = load;
  const thermal = thermalValues(span, knowledge);
  const entered = enteredValues(knowledge.entered);
  const holes = span.holes.filter((h) => h.tick_to > span.tick_from && h.tick_from < span.tick_to);
  const named = { torque_Nm: load.torque_Nm, speed_rpm: shaft.speed, power_W: load.power_W, ...thermal, ...entered } satisfies Record<ValueName, Value>;
  return {
    ...named,
    boot_id: span.boot_id,
    simulated: span.simulated,
    tick_from: span.tick_from,
    tick_to: span.tick_to,
    from_utc_us: span.from_utc_us,
    duration_s: ((span.tick_to - span.tick_from) * span.us_per_tick) / 1e6,
    shaft: shaft.state,
    revolutions: shaft.turns,
    power_is: POWER_IS,
    slow_covariance_W: load.slow_covariance_W,
    acceleration: load.acceleration,
    aliasing: load.aliasing,
    discarded: {
      flagged: counts.flagged,
      glitches: counts.glitches,
      missed_edges: shaft.mean.missed,
      extra_edges: shaft.mean.extra,
      lost: holes.reduce((s, h) => s + h.lost, 0),
      holes: holes.length,
    },
    conversions: counts.n,
    conversion_rate_Hz: Number.isFinite(counts.rate_Hz) ? counts.rate_Hz : null,
    zero_says: load.zero_says,
    verified: load.verified,
    lacks: load.lacks,
    warnings: [...load.aliasing.map((a) => a.says), ...unmentioned(named), ...(knowledge.warnings ?? [])],
    cites: {
      cal_ids: USED.flatMap((c) => knowledge.calibrations[c]?.cal_id ?? []),
      zero_ids: load.zero_ids,
      check_ids: load.check_ids,
      entered_ids: knowledge.entered.flatMap((e) => e.entered_id ?? []),
    },
  };
}

/** Colder out than in: either no heat comes, or the two are exchanged. */
function unmentioned({ coolant_difference_K: { quantity }, heater_W, fuel_W }: Readonly<Record<ValueName, Value>>): string[] {
  const heated = (heater_W.quantity?.value ?? 0) > 0 || (fuel_W.quantity?.value ?? 0) > 0;
  return quantity !== null && quantity.value < 0 && heated ? ['coolant comes out colder than it goes in: are the two sensors exchanged?'] : [];
}

import type { TrialDraft } from '../store/runs/trials.js';
import type { CurveDraft, HeatDraft, PointDraft, Said, SaidValue } from '../store/runs/reductions.js';
import { curveNames, plainCurve } from './curve/plain.js';
import type { TorqueCurve } from './curve/torque_curve.js';
import type { AgainstIdeal } from './heat/against_ideal.js';
import type { HeatBalance } from './heat/balance.js';
import { heatNames, idealNames, plainHeat } from './heat/plain.js';
import type { Point } from './points/point.js';
import { plainValue } from './values/plain.js';
import type { Trial } from './trial/trial.js';
import { measured, valueNames } from './values/value.js';
import type { Value } from './values/value.js';

/** How what was worked out of a run is kept: every value with its budget, or with the reason why it is none. Pure. */
export function pointDraft({ tick_from, tick_to, branch, override, criteria, values }: Point): PointDraft {
  const { discarded } = values;
  const lacks = [...values.lacks, ...(override === null ? [] : ['it was taken although the gate did not hold'])];
  return {
    boot_id: values.boot_id, tick_from, tick_to, branch, override, revolutions: values.revolutions,
    discarded: discarded.flagged + discarded.glitches + discarded.missed_edges + discarded.extra_edges + discarded.lost,
    ...judged(values.verified && override === null, lacks.join('; ')),
    said: said(valueNames, (name) => values[name]),
    more: { criteria, discarded, warnings: values.warnings, aliasing: values.aliasing, conversions: values.conversions, acceleration_rad_s2: values.acceleration?.rad_s2 ?? null },
  };
}

/** null: no point, so no speed that it could be said of. */
export function curveDraft(curve: TorqueCurve): CurveDraft | null {
  const speeds = curve.points.map((p) => p.speed.value);
  if (speeds.length === 0) return null;
  const { state, last_stable } = curve;
  const named = said(curveNames, (name) => curve[name]);
  return {
    state, points: speeds.length, least_speed_rpm: Math.min(...speeds), most_speed_rpm: Math.max(...speeds),
    ...judged(curve.verified, curve.lacks ?? curve.why),
    said: last_stable === null ? named : { ...named, last_stable_speed_rpm: saidOf(measured(last_stable.speed_rpm)) },
    more: without(plainCurve(curve), curveNames),
  };
}

export function heatDraft({ values, tick_from, tick_to }: Point, balance: HeatBalance, ideal: AgainstIdeal | null): HeatDraft {
  const names: readonly string[] = [...heatNames, ...(ideal === null ? [] : idealNames)];
  return {
    boot_id: values.boot_id, tick_from, tick_to, fault: balance.faults.length === 0 ? null : balance.faults.map((f) => f.says).join('; '),
    ...judged(balance.verified, balance.faults.length > 0 ? 'the instruments contradict each other' : balance.lacks),
    said: { ...said(heatNames, (name) => balance[name]), ...(ideal === null ? {} : said(idealNames, (name) => ideal[name])) },
    more: without(plainHeat(balance, ideal), names),
  };
}

/** What a trial says of itself, and of the values over the same time. */
export const trialNames = ['swing_Pa', 'rate_per_min', 'ideal_swing_Pa', 'ideal_share'] as const;
export const trialValueNames = ['hot_C', 'coolant_in_C', 'coolant_out_C', 'heat_W', 'heater_W', 'fuel_W'] as const;

export function trialDraft(trial: Trial): TrialDraft {
  const { boot_id, strokes, values, warnings } = trial;
  // Without an engine's volumes or without coolant there is a swing all the same.
  const reasons = [...new Set([trial.swing_Pa, trial.rate_per_min, trial.ideal_swing_Pa, values.hot_C].flatMap((v) => v.reason ?? []))];
  return {
    boot_id, tick_from: values.tick_from, tick_to: values.tick_to, strokes,
    ...judged(reasons.length === 0 && warnings.length === 0, [...warnings, ...reasons].join('; ')),
    said: { ...said(trialNames, (name) => trial[name]), ...said(trialValueNames, (name) => values[name]) },
    more: { warnings },
  };
}

const without = (all: Readonly<Record<string, unknown>>, names: readonly string[]): Readonly<Record<string, unknown>> => Object.fromEntries(Object.entries(all).filter(([name]) => !names.includes(name)));

const judged = (verified: boolean, why: string | null): { verified: boolean; why: string | null } => ({ verified, why: verified ? null : why === null || why === '' ? 'unverified' : why });

const said = <Name extends string>(names: readonly Name[], of: (name: Name) => Value): Said => Object.fromEntries(names.map((name) => [name, saidOf(of(name))]));

function saidOf(value: Value): SaidValue {
  return plainValue(value, true);
}

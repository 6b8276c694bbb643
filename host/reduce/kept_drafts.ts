import type { CurveDraft, HeatDraft, PointDraft, Said, SaidValue } from '../store/runs/reductions.js';
import { curveNames, plainCurve } from './curve/plain.js';
import type { TorqueCurve } from './curve/torque_curve.js';
import type { AgainstIdeal } from './heat/against_ideal.js';
import type { HeatBalance } from './heat/balance.js';
import { heatNames, idealNames, plainHeat } from './heat/plain.js';
import type { Point } from './points/point.js';
import { plainValue } from './values/plain.js';
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

const without = (all: Readonly<Record<string, unknown>>, names: readonly string[]): Readonly<Record<string, unknown>> => Object.fromEntries(Object.entries(all).filter(([name]) => !names.includes(name)));

const judged = (verified: boolean, why: string | null): { verified: boolean; why: string | null } => ({ verified, why: verified ? null : why === null || why === '' ? 'unverified' : why });

const said = <Name extends string>(names: readonly Name[], of: (name: Name) => Value): Said => Object.fromEntries(names.map((name) => [name, saidOf(of(name))]));

function saidOf(value: Value): SaidValue {
  return plainValue(value, true);
}

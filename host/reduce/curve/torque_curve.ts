import { SmallbrakeError } from '../../errors.js';
import { expanded } from '../../sense/uncertainty/coverage.js';
import { ratio, scaled } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';
import type { Point } from '../points/point.js';
import { measured, notMeasured } from '../values/value.js';
import type { Value } from '../values/value.js';
import { compareBranches } from './branches.js';
import type { BranchFinding } from './branches.js';
import { brakeExponent, findBrake } from './brake.js';
import type { BrakeFinding, BrakeKind, Setting } from './brake.js';
import { endsOf, lacksOf } from './ends.js';
import type { LastStable } from './ends.js';
import { curveAt, fitCurve } from './fit.js';
import type { Curve } from './fit.js';
import { RPM_per_rad_s } from '../../sense/physics/units.js';
import { curveMembers, rpmOf } from './members.js';
import type { CurveMember, LeftOut } from './members.js';
import { offCurve } from './off.js';
import type { Off } from './off.js';
import { peakPower } from './peak.js';
import type { PeakResult } from './peak.js';
import { withWander } from './wander.js';

export interface CurveSettings {
  readonly brake?: BrakeKind | null;
  /** By number of the point, with a reason. */
  readonly leave_out?: ReadonlyMap<number, string>;
  /** Speeds at which the band is given. */
  readonly band_speeds?: number;
  /** What the brake did while nobody touched it, for its kind and for how far the engine wanders. */
  readonly settings?: readonly Setting[];
  /** The shaft was seen to stop under load after the slowest point; null: nobody looked. */
  readonly stopped?: boolean | null;
}

export interface BandAt {
  readonly speed_rpm: number;
  readonly torque_Nm: Quantity;
  readonly power_W: Quantity;
}

/** A point beside the curve. */
export interface OnCurve extends CurveMember {
  readonly residual_Nm: number;
  /** Kept all the same. @see offCurve */
  readonly off: Off;
}

/** found: the peak of power lies within the points. no_top: power still rises towards one end. too_few_points: no curve. */
export type CurveState = 'found' | 'no_top' | 'too_few_points';

export interface TorqueCurve {
  readonly state: CurveState;
  /** In words; null where there is nothing to say. */
  readonly why: string | null;
  readonly points: readonly OnCurve[];
  readonly left_out: readonly LeftOut[];
  readonly curve: Curve | null;
  readonly band: readonly BandAt[];
  /** Of the fitted curve near its top, never of the highest point. Torque: that at the peak of power. */
  readonly peak_power_W: Value;
  readonly peak_speed_rpm: Value;
  readonly peak_torque_Nm: Value;
  readonly peak_points: number;
  readonly free_speed_rpm: Value;
  readonly stall_torque_Nm: Value;
  readonly last_stable: LastStable | null;
  readonly brake: BrakeFinding;
  readonly branches: BranchFinding | null;
  /** Points that stand off the curve: kept, and named. */
  readonly warnings: readonly string[];
  readonly verified: boolean;
  readonly lacks: string | null;
}

const BAND_SPEEDS = 13;

/** Torque and power over speed from steady points, with what can be said of both ends and of the top. Pure. */
export function torqueCurve(points: readonly Point[], settings: CurveSettings = {}): TorqueCurve {
  const { used, left_out } = curveMembers(points, settings.leave_out);
  const members = used.sort((a, b) => a.speed_rad_s - b.speed_rad_s);
  const brake = findBrake(settings.brake ?? null, brakeExponent(settings.settings ?? []));
  const lacks = lacksOf(members);
  const common = { left_out, brake, lacks };
  const fitted = withWander(members, settings.settings ?? []);
  const curve = orTooFew(() => fitCurve(fitted));
  if (curve instanceof SmallbrakeError) {
    const none = notMeasured(curve.message);
    return {
      ...common, state: 'too_few_points', why: curve.message, points: members.map((m) => ({ ...m, residual_Nm: 0, off: { t: 0, stands_off: false } })), curve: null, band: [], peak_power_W: none, peak_speed_rpm: none, peak_torque_Nm: none,
      peak_points: 0, free_speed_rpm: none, stall_torque_Nm: none, last_stable: null, branches: null, warnings: [], verified: false,
    };
  }
  const ends = endsOf(fitted, curve, brake, settings.stopped ?? null);
  const offs = offCurve(fitted, curve);
  const on = members.map((m, i): OnCurve => ({ ...m, residual_Nm: m.torque_Nm.value - curveAt(curve, m.speed_rad_s).value, off: offs[i] as Off }));
  const peak = orTooFew(() => peakPower(fitted));
  const top = peakValues(peak, lacks);
  return {
    ...common,
    ...top,
    ...ends,
    points: on,
    curve,
    band: bandOf(curve, settings.band_speeds ?? BAND_SPEEDS),
    branches: compareBranches(fitted, curve),
    warnings: on.filter((p) => p.off.stands_off).map((p) => `point ${p.n} lies ${(1000 * p.residual_Nm).toPrecision(2)} mNm off the curve, which the scatter of the others does not explain: see what happened then, and leave it out with a reason if it is no point`),
    verified: lacks === null && top.state === 'found',
  };
}

function peakValues(peak: PeakResult | SmallbrakeError, lacks: string | null): Pick<TorqueCurve, 'state' | 'why' | 'peak_power_W' | 'peak_speed_rpm' | 'peak_torque_Nm' | 'peak_points'> {
  if (peak instanceof SmallbrakeError || peak.state === 'no_top') {
    const why = peak instanceof SmallbrakeError ? peak.message : `power still rises towards the ${peak.side === 'slow' ? 'slowest' : 'fastest'} point, so its peak was not passed: take points that are ${peak.side === 'slow' ? 'slower' : 'faster'}`;
    const none = notMeasured(why);
    return { state: 'no_top', why, peak_power_W: none, peak_speed_rpm: none, peak_torque_Nm: none, peak_points: 0 };
  }
  const { power_W, speed_rad_s, points_used } = peak.peak;
  return {
    state: 'found',
    why: null,
    peak_power_W: measured(power_W, [lacks]),
    peak_speed_rpm: measured(rpmOf(speed_rad_s)),
    peak_torque_Nm: measured(ratio(power_W, speed_rad_s, 'Nm'), [lacks]),
    peak_points: points_used,
  };
}

export function bandOf(curve: Curve, n: number): BandAt[] {
  const [from, to] = curve.range_rad_s;
  return Array.from({ length: n }, (_, i) => {
    const w = from + ((to - from) * i) / (n - 1);
    const torque_Nm = curveAt(curve, w);
    return { speed_rpm: w * RPM_per_rad_s, torque_Nm, power_W: scaled(torque_Nm, w, 'W') };
  });
}

/** Half of the 95 % interval. */
export const U95 = (q: Quantity): number => expanded(q).U;

function orTooFew<T>(make: () => T): T | SmallbrakeError {
  try {
    return make();
  } catch (thrown) {
    if (thrown instanceof SmallbrakeError && thrown.code === 'TOO_FEW_POINTS') return thrown;
    throw thrown;
  }
}

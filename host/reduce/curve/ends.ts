import { combine } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';
import { measured, notMeasured } from '../values/value.js';
import type { Value } from '../values/value.js';
import type { BrakeFinding, Stability } from './brake.js';
import { stabilityAt } from './brake.js';
import { averaged, differentSpeeds, fitCurve, torqueAt } from './fit.js';
import type { Curve, CurveModel } from './fit.js';
import { RPM_per_rad_s } from '../../sense/physics/units.js';
import { rpmOf } from './members.js';
import type { CurveMember } from './members.js';

/** How far beyond the points a curve is believed, as a share of the span that they cover. */
const REACH = 0.1;
/** An end is drawn from the points next to it: these, at least so many. */
const NEXT_SHARE = 0.5;
const LEAST_points = 5;

export interface Ends {
  /** Where the torque would be 0: the engine alone with the brake's own drag taken off. */
  readonly free_speed_rpm: Value;
  readonly stall_torque_Nm: Value;
  readonly last_stable: LastStable;
}

/** The slowest point. It is no stall torque: what lies to the left of it is not known. */
export interface LastStable {
  readonly n: number;
  readonly speed_rpm: Quantity;
  readonly torque_Nm: Quantity;
  /** By the rule: d(brake torque)/d(speed) above d(engine torque)/d(speed). */
  readonly stability: Stability;
  readonly says: string;
}

/**
 * @param members rising in speed, at least four
 * @param stopped the shaft was seen to stop under load after the slowest point; null: nobody looked
 */
export function endsOf(members: readonly CurveMember[], whole: Curve, brake: BrakeFinding, stopped: boolean | null): Ends {
  return { free_speed_rpm: freeSpeed(members), stall_torque_Nm: stallTorque(members), last_stable: lastStable(members, whole, brake, stopped) };
}

function freeSpeed(members: readonly CurveMember[]): Value {
  const [first, last] = [members[0], members.at(-1)];
  if (first === undefined || last === undefined) return notMeasured('there are no points');
  const most = Math.max(...members.map((m) => m.torque_Nm.value));
  const limit = last.speed_rad_s + REACH * (last.speed_rad_s - first.speed_rad_s);
  const curve = fitCurve(next(members, 'fast', most));
  const roots = curve.models.flatMap((m) => {
    const w = fallsToZero(m, curve.range_rad_s[0], limit);
    if (w === null) return [];
    const slope = m.coefficients.reduce((s, c, k) => (k === 0 ? s : s + k * c.value * w ** (k - 1)), 0);
    return [{ weight: m.weight, value: combine(w, 'rad/s', m.coefficients.map((c, k) => [c, -(w ** k) / slope] as const)) }];
  });
  const believed = roots.reduce((s, r) => s + r.weight, 0);
  if (believed < 0.5) {
    const left = (100 * last.torque_Nm.value) / most;
    return notMeasured(`not reached: the fastest point, ${rpm(last.speed_rad_s)} rpm, still gives ${left.toFixed(0)} % of the greatest torque, and no curve is followed beyond ${rpm(limit)} rpm; take a point with the brake off`);
  }
  const speed = rpmOf(averaged(roots, 'rad/s', 'alike'));
  const beyond = speed.value / RPM_per_rad_s > last.speed_rad_s;
  return measured(speed, [beyond ? `followed beyond the fastest point, from ${rpm(last.speed_rad_s)} rpm` : null, lacksOf(members)]);
}

function stallTorque(members: readonly CurveMember[]): Value {
  const [first, last] = [members[0], members.at(-1)];
  if (first === undefined || last === undefined) return notMeasured('there are no points');
  if (first.speed_rad_s > REACH * (last.speed_rad_s - first.speed_rad_s)) {
    return notMeasured(`not reached: the slowest point is at ${rpm(first.speed_rad_s)} rpm, too far from standstill to follow the curve there`);
  }
  const curve = fitCurve(next(members, 'slow', 0));
  return measured(averaged(curve.models.map((m) => ({ weight: m.weight, value: torqueAt(m, 0) })), 'Nm', 'alike'), [`followed to standstill from ${rpm(first.speed_rad_s)} rpm`, lacksOf(members)]);
}

function lastStable(members: readonly CurveMember[], whole: Curve, brake: BrakeFinding, stopped: boolean | null): LastStable {
  const slowest = members[0] as CurveMember;
  const { state } = stabilityAt(whole, slowest.speed_rad_s, brake.kind);
  const rule: Record<Stability, string> = {
    stable: 'the brake holds it there: its torque rises more with speed than the engine\'s',
    on_the_edge: 'the brake hardly holds it there: below it the engine may drop to standstill at once',
    unstable: 'by the curve such a brake could not hold it there: is it of another kind?',
    unknown: 'whether a brake could hold it further down is not known, since its kind is not',
  };
  const stop = stopped === null ? '' : stopped ? '; the shaft stopped after it under more load' : '; the shaft was never stopped, so more load may be possible';
  return { n: slowest.n, speed_rpm: slowest.speed, torque_Nm: slowest.torque_Nm, stability: state, says: `${rule[state]}${stop}` };
}

/** The points next to one end: on the fast side those below half of the greatest torque; at five speeds at least. */
function next(members: readonly CurveMember[], side: 'slow' | 'fast', most: number): readonly CurveMember[] {
  const near: CurveMember[] = [];
  for (const m of side === 'slow' ? members : members.toReversed()) {
    if (differentSpeeds(near) >= LEAST_points && (side === 'slow' || m.torque_Nm.value > NEXT_SHARE * most)) break;
    near.push(m);
  }
  return near;
}

/** First place where the model falls through 0 between both speeds; null: none. */
function fallsToZero(model: CurveModel, from: number, to: number): number | null {
  const torque = (w: number): number => model.coefficients.reduceRight((s, c) => s * w + c.value, 0);
  const steps = 200;
  for (let i = 1; i <= steps; i++) {
    let low = from + ((to - from) * (i - 1)) / steps;
    let high = from + ((to - from) * i) / steps;
    if (!(torque(low) > 0 && torque(high) <= 0)) continue;
    for (let k = 0; k < 60; k++) {
      const mid = (low + high) / 2;
      if (torque(mid) > 0) low = mid;
      else high = mid;
    }
    return (low + high) / 2;
  }
  return null;
}

/** Of all points together. */
export const lacksOf = (members: readonly CurveMember[]): string | null => {
  const lacks = [...new Set(members.flatMap((m) => m.lacks ?? []))];
  return lacks.length === 0 ? null : lacks.join('; ');
};

const rpm = (rad_s: number): string => (rad_s * RPM_per_rad_s).toFixed(0);

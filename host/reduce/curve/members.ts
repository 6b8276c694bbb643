import { RPM_per_rad_s } from '../../sense/physics/units.js';
import { scaled } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';
import type { Branch, Point } from '../points/point.js';
import type { CurvePoint } from './fit.js';

/** A point that the curve rests on. */
export interface CurveMember extends CurvePoint {
  /** As the list of points counts them, from 1. */
  readonly n: number;
  readonly speed: Quantity;
  readonly power_W: Quantity;
  readonly branch: Branch;
  /** Middle of it, on a clock that all points share; null: they share none. */
  readonly t_s: number | null;
  /** Why it was taken although the gate did not call it steady. */
  readonly override: string | null;
  /** What its torque lacks to count as verified. */
  readonly lacks: string | null;
}

/** A point that the curve does not rest on, and why. */
export interface LeftOut {
  readonly n: number;
  readonly reason: string;
}

export const rpmOf = (rad_s: Quantity): Quantity => scaled(rad_s, RPM_per_rad_s, 'rpm');

/** @param leave_out by number of the point, with the reason of who leaves it out */
export function curveMembers(points: readonly Point[], leave_out: ReadonlyMap<number, string> = new Map()): { readonly used: CurveMember[]; readonly left_out: LeftOut[] } {
  const used: CurveMember[] = [];
  const left_out: LeftOut[] = [];
  const clock = sharedClock(points);
  for (const [i, { values, branch, override }] of points.entries()) {
    const n = i + 1;
    const asked = leave_out.get(n);
    const [torque, speed, power] = [values.torque_Nm, values.speed_rpm, values.power_W];
    const missing = [torque, speed, power].find((v) => v.quantity === null);
    if (asked !== undefined) left_out.push({ n, reason: asked });
    else if (torque.quantity === null || speed.quantity === null || power.quantity === null) left_out.push({ n, reason: missing?.reason ?? 'not measured' });
    else if (values.shaft !== 'turning') left_out.push({ n, reason: 'the shaft did not turn all the time' });
    else {
      used.push({ n, speed_rad_s: speed.quantity.value / RPM_per_rad_s, torque_Nm: torque.quantity, speed: speed.quantity, power_W: power.quantity, branch, t_s: clock(i), override, lacks: torque.reason });
    }
  }
  return { used, left_out };
}

/** UTC where all have it, board time where all are of one boot. */
function sharedClock(points: readonly Point[]): (i: number) => number | null {
  const values = points.map((p) => p.values);
  if (values.every((v) => v.from_utc_us !== null)) return (i) => (values[i]?.from_utc_us ?? 0) / 1e6 + (values[i]?.duration_s ?? 0) / 2;
  const oneBoot = new Set(values.map((v) => v.boot_id)).size === 1;
  // Seconds of a tick from the point itself, so that no clock rate has to be told.
  return (i) => {
    const v = values[i];
    return v === undefined || !oneBoot || v.tick_to === v.tick_from ? null : ((v.tick_from + v.tick_to) / 2) * (v.duration_s / (v.tick_to - v.tick_from));
  };
}

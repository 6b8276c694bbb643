import type { Branch, Point } from '../../../../host/reduce/points/point.js';
import type { Values } from '../../../../host/reduce/values/span_values.js';
import { measured, notMeasured, valueNames } from '../../../../host/reduce/values/value.js';
import type { Value, ValueName } from '../../../../host/reduce/values/value.js';
import { product, quantity, scaled } from '../../../../host/sense/uncertainty/quantity.js';
import type { Quantity } from '../../../../host/sense/uncertainty/quantity.js';

export const RPM = 60 / (2 * Math.PI);

export const random = (value: number, unit: string, u: number, id: string): Quantity => quantity(value, unit, [{ source: { id, says: id, kind: 'random', shape: 'normal', dof: Infinity }, c_u: u }]);
export const systematic = (value: number, unit: string, u: number, id: string): Quantity => quantity(value, unit, [{ source: { id, says: id, kind: 'systematic', shape: 'normal', dof: Infinity }, c_u: u }]);

const nothing = Object.fromEntries(valueNames.map((name) => [name, notMeasured('not in this test')])) as Record<ValueName, Value>;

/** Values of a span of which only these are measured. */
export function valuesOf(named: Partial<Record<ValueName, Value>>, more: Partial<Values> = {}): Values {
  return {
    ...nothing,
    ...named,
    boot_id: 1, simulated: true, tick_from: 0, tick_to: 6e7, from_utc_us: 1.7e15, duration_s: 30, shaft: 'turning', revolutions: 200, power_is: 'mean torque times mean speed, both over the same whole revolutions', slow_covariance_W: null,
    acceleration: null, aliasing: [], discarded: { flagged: 0, glitches: 0, missed_edges: 0, extra_edges: 0, lost: 0, holes: 0 }, conversions: 2400, conversion_rate_Hz: 80, zero_says: null, verified: true, lacks: [],
    warnings: [], cites: { cal_ids: [], zero_ids: [], check_ids: [], entered_ids: [] },
    ...more,
  };
}

export interface Made {
  readonly w: number;
  readonly T: number;
  readonly u_T: number;
  readonly branch?: Branch;
  readonly t_s?: number;
  readonly lacks?: string | null;
  readonly also?: Partial<Record<ValueName, Value>>;
}

export function pointsOf(made: readonly Made[]): Point[] {
  return made.map(({ w, T, u_T, branch = 'down', t_s, lacks = null, also = {} }, i): Point => {
    const torque = random(T, 'Nm', u_T, `torque of point ${i}`);
    const speed = random(w * RPM, 'rpm', w * RPM * 1e-5, `speed of point ${i}`);
    const at = (t_s ?? 60 * i) * 1e6;
    const values = valuesOf({ torque_Nm: measured(torque, [lacks]), speed_rpm: measured(speed), power_W: measured(scaled(product(torque, speed, ''), 1 / RPM, 'W'), [lacks]), ...also }, { from_utc_us: 1.7e15 + at, tick_from: 2 * at, tick_to: 2 * at + 6e7 });
    return { tick_from: values.tick_from, tick_to: values.tick_to, branch, criteria: [], override: null, values };
  });
}

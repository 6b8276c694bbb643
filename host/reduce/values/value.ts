import type { Quantity } from '../../sense/uncertainty/quantity.js';

/** unverified: told, but `reason` says what it lacks. */
export type ValueState = 'measured' | 'unverified' | 'uncalibrated' | 'not_measured';

export interface Value {
  readonly quantity: Quantity | null;
  readonly state: ValueState;
  /** In words; null where there is nothing to say. */
  readonly reason: string | null;
}

export const valueNames = [
  'torque_Nm',
  'speed_rpm',
  'power_W',
  'hot_C',
  'coolant_in_C',
  'coolant_out_C',
  'coolant_difference_K',
  'flow_Lpmin',
  'heat_W',
  'heater_W',
  'fuel_W',
] as const;
export type ValueName = (typeof valueNames)[number];

export const notMeasured = (reason: string | null): Value => ({ quantity: null, state: 'not_measured', reason: reason ?? 'not measured' });
export const uncalibrated = (reason: string): Value => ({ quantity: null, state: 'uncalibrated', reason });

/** @param lacks what would have to be there for it to count as verified */
export function measured(quantity: Quantity, lacks: readonly (string | null)[] = []): Value {
  const told = [...new Set(lacks.filter((l) => l !== null))];
  return { quantity, state: told.length === 0 ? 'measured' : 'unverified', reason: told.length === 0 ? null : told.join('; ') };
}

/** Of what is worked out from others: what the first that is none says; else what any of them lacks. */
export function workedOut(parts: readonly Value[], result: (...q: Quantity[]) => Quantity): Value {
  const missing = parts.find((p) => p.quantity === null);
  if (missing !== undefined) return missing;
  return measured(result(...parts.map((p) => p.quantity as Quantity)), parts.map((p) => p.reason));
}

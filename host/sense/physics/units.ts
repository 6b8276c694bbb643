import { fail } from '../../errors.js';
import { STANDARD_GRAVITY_m_s2 } from './gravity.js';

/** Exact by definition: the pound is 0.45359237 kg (1959), force units take 9.80665 m/s2 (CGPM 1901). */
const POUND_kg = 0.45359237;

export const N_PER_FORCE_UNIT = {
  N: 1,
  gf: STANDARD_GRAVITY_m_s2 / 1000,
  kgf: STANDARD_GRAVITY_m_s2,
  lbf: 4.4482216152605,
} as const;
export const KG_PER_MASS_UNIT = { g: 1e-3, kg: 1, lb: POUND_kg } as const;

export type ForceUnit = keyof typeof N_PER_FORCE_UNIT;
export type MassUnit = keyof typeof KG_PER_MASS_UNIT;
export type LoadUnit = ForceUnit | MassUnit;
export const loadUnits: readonly LoadUnit[] = ['N', 'gf', 'kgf', 'lbf', 'g', 'kg', 'lb'];

export function isForceUnit(unit: LoadUnit): unit is ForceUnit {
  return unit in N_PER_FORCE_UNIT;
}

/** @throws UNIT_UNKNOWN */
export function loadUnitOf(text: string): LoadUnit {
  const unit = loadUnits.find((u) => u === text);
  if (unit === undefined) throw fail('UNIT_UNKNOWN', { unit: text, quantity: 'load', known: loadUnits.join(', ') });
  return unit;
}

/** Grams are entered in grams: 50 g and 0.05 kg are the same number. */
export function inKg(value: number, unit: MassUnit): number {
  return unit === 'g' ? value / 1000 : value * KG_PER_MASS_UNIT[unit];
}
export function inN(value: number, unit: ForceUnit): number {
  return unit === 'gf' ? (value * STANDARD_GRAVITY_m_s2) / 1000 : value * N_PER_FORCE_UNIT[unit];
}

/** rev/min in a radian per second. */
export const RPM_per_rad_s = 60 / (2 * Math.PI);

export function radPerS(speed_rpm: number): number {
  return (speed_rpm * 2 * Math.PI) / 60;
}
export function revPerMin(speed_rad_s: number): number {
  return (speed_rad_s * 60) / (2 * Math.PI);
}
export function power_W(torque_Nm: number, speed_rpm: number): number {
  return torque_Nm * radPerS(speed_rpm);
}

import { waterState, WATER_LIMITS } from '../physics/water.js';
import { combine, difference, product, scaled, within } from '../uncertainty/quantity.js';
import type { Quantity } from '../uncertainty/quantity.js';
import { systematic } from './ids.js';

/** What carries the heat: a mix is another substance than water, its figures are entered. */
export type Coolant = { readonly kind: 'water' } | { readonly kind: 'mix'; readonly density_kg_m3: Quantity; readonly cp_J_kgK: Quantity };

/** Step for the slopes of density and heat capacity, K. */
const STEP_K = 0.5;

/** Of the coolant at its mean temperature. @throws OUT_OF_RANGE where water is no liquid */
export function coolantProperties(mean_C: Quantity, coolant: Coolant): { readonly density_kg_m3: Quantity; readonly cp_J_kgK: Quantity } {
  if (coolant.kind === 'mix') return coolant;
  const t = mean_C.value;
  const at = waterState(t);
  const low = waterState(Math.max(0, t - STEP_K));
  const high = waterState(t + STEP_K);
  const over = t + STEP_K - Math.max(0, t - STEP_K);
  const of = (what: 'density_kg_m3' | 'cp_J_kgK', limit: number, unit: string, says: string): Quantity =>
    combine(at[what], unit, [
      [mean_C, (high[what] - low[what]) / over],
      [within(0, unit, limit * at[what], systematic(`${says} of water (IAPWS-IF97)`, `${says} of water`)), 1],
    ]);
  return { density_kg_m3: of('density_kg_m3', WATER_LIMITS.density, 'kg/m3', 'density'), cp_J_kgK: of('cp_J_kgK', WATER_LIMITS.cp, 'J/(kg K)', 'heat capacity') };
}

const L_per_min_in_m3_s = 1 / 60_000;

/**
 * Heat that the coolant takes up, in W: density(t) cp(t) flow (out - in), at the mean temperature of both. The flow is
 * by volume at that temperature.
 */
export function coolantHeat_W(flow_Lpmin: Quantity, difference_K: Quantity, mean_C: Quantity, coolant: Coolant = { kind: 'water' }): Quantity {
  const { density_kg_m3, cp_J_kgK } = coolantProperties(mean_C, coolant);
  const carried = scaled(product(product(density_kg_m3, cp_J_kgK, 'J/(m3 K)'), flow_Lpmin, ''), L_per_min_in_m3_s, 'W/K');
  return product(carried, difference_K, 'W');
}

/** Electrical heater, direct current or a true power meter's volts and amps. */
export const heaterPower_W = (volts: Quantity, amps: Quantity): Quantity => product(volts, amps, 'W');

/** Fuel burnt: (in - out) / time times its lower heating value. @param lhv_J_g lower: the water leaves as steam */
export function fuelPower_W(in_g: Quantity, out_g: Quantity, seconds: Quantity, lhv_J_g: Quantity): Quantity {
  const burnt_g = difference(in_g, out_g);
  const value = (burnt_g.value * lhv_J_g.value) / seconds.value;
  return combine(value, 'W', [
    [burnt_g, lhv_J_g.value / seconds.value],
    [lhv_J_g, burnt_g.value / seconds.value],
    [seconds, -value / seconds.value],
  ]);
}

import { waterState, WATER_LIMITS } from '../physics/water.js';
import { combine, difference, product, scaled, sum, within } from '../uncertainty/quantity.js';
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

/** Of water at 25 C, from liquid to steam (IAPWS-95, from memory: 2441.7 kJ/kg; CODATA enthalpies of formation give 2442.5). */
export const STEAM_MJ_kg = 2.442;
/** A table may be of 15 C, where it is 1 % more. */
const STEAM_SHARE = 0.01;
/** Water that burns out of hydrogen, by mass: M(H2O) / M(H2). */
export const WATER_of_HYDROGEN = 18.015 / 2.016;
/** By this part a value tells that it was worked out of the higher one. */
export const STEAM_ID = 'fuel: water of the flame leaves as steam';

/**
 * Lower heating value from the higher one: less what it would take back to condense the water that its hydrogen burns to. A flame
 * at an engine gives that to nobody, its gas leaves far above 100 C. Water that is in the fuel from the start is not in it.
 *
 * @param hydrogen_percent of the fuel by mass, from its formula
 * @returns MJ/kg
 */
export function lowerHeatingValue(higher_MJ_kg: Quantity, hydrogen_percent: Quantity): Quantity {
  const per_percent = (WATER_of_HYDROGEN * STEAM_MJ_kg) / 100;
  const steam = within(0, 'MJ/kg', STEAM_SHARE * per_percent * hydrogen_percent.value, systematic(STEAM_ID, 'heat of the steam in the burnt gas'));
  const dry = combine(higher_MJ_kg.value - per_percent * hydrogen_percent.value, 'MJ/kg', [[higher_MJ_kg, 1], [hydrogen_percent, -per_percent]]);
  return sum(dry, steam);
}

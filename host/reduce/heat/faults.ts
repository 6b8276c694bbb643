import { expanded } from '../../sense/uncertainty/coverage.js';
import { difference, exact } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';
import type { Value } from '../values/value.js';

/** A balance that cannot be: some instrument, wire, unit or entry is wrong. */
export interface HeatFault {
  readonly what: 'more_out_than_in' | 'above_carnot' | 'efficiency_above_1' | 'coolant_cooled' | 'hot_end_cold' | 'negative_power';
  /** What was seen, with the numbers and by how much it is beyond what they are known to. */
  readonly says: string;
  readonly look_at: readonly string[];
  /** Names of the balance that are no result then. */
  readonly spoils: readonly string[];
}

export interface Seen {
  readonly heat_in_W: Value;
  readonly power_W: Value;
  readonly coolant_heat_W: Value;
  readonly unaccounted_W: Value;
  readonly efficiency_least: Value;
  readonly efficiency_most: Value;
  readonly carnot_efficiency: Value;
  readonly hot_C: Value;
  readonly coolant_in_C: Value;
}

const FLOW = 'the flow: time a bucket, and see that the meter is used within its calibrated range';
const COOLANT = 'the coolant sensors: run them in one bath (calibrate match), see that in and out are not exchanged, and that water flows past both';
const COUPLE = 'the thermocouple: does it sit on the hot wall, and are its legs the right way round?';
const POWER = 'the torque: hang the check mass, and look at both zeros';
const ENTRIES = 'what was entered: volts, amps, grams and MJ/kg (the lower heating value), each in its unit and of this run';
const ELSEWHERE = 'heat from elsewhere: a flame on the jacket, the pump, water that was warm already';
const MAGNETS = 'the number of magnets that this rig is told to have';

const BRACKET = ['efficiency_most', 'carnot_share_most'];
const LOWER = ['efficiency_least', 'carnot_share'];
const REST = ['unaccounted_W', 'unaccounted_share'];

/** What lies beyond the 95 % interval of both sides, and so is no discovery but a fault. */
export function faultsOf(s: Seen): HeatFault[] {
  return [power(s), coolant(s), hotEnd(s), closure(s), carnot(s), above1(s)].filter((f) => f !== null);
}

function power({ power_W: { quantity: P } }: Seen): HeatFault | null {
  if (P === null || !below(P, 0)) return null;
  return { what: 'negative_power', says: `the shaft takes ${told(P, -1)} W instead of giving power`, look_at: [POWER, 'the direction of the torque: does a mass on the arm pull the way the engine does?'], spoils: [...BRACKET, ...LOWER, ...REST] };
}

function coolant({ coolant_heat_W: { quantity: Q } }: Seen): HeatFault | null {
  if (Q === null || !below(Q, 0)) return null;
  return { what: 'coolant_cooled', says: `the coolant gives off ${told(Q, -1)} W in an engine that it should cool`, look_at: [COOLANT], spoils: [...BRACKET, ...REST] };
}

function hotEnd({ power_W: { quantity: P }, carnot_efficiency: { quantity: eta }, hot_C, coolant_in_C }: Seen): HeatFault | null {
  if (P === null || eta === null || !above(P, 0) || above(eta, 0)) return null;
  const C = (v: Value): string => (v.quantity?.value ?? NaN).toFixed(0);
  return { what: 'hot_end_cold', says: `the engine gives ${told(P)} W while the hot end (${C(hot_C)} C) is not seen to be hotter than the coolant (${C(coolant_in_C)} C)`, look_at: [COUPLE], spoils: ['carnot_efficiency', 'carnot_share', 'carnot_share_most'] };
}

function closure({ unaccounted_W: { quantity: left }, heat_in_W }: Seen): HeatFault | null {
  if (left === null || !below(left, 0)) return null;
  return { what: 'more_out_than_in', says: `${told(left, -1)} W more come out than the ${told(heat_in_W.quantity ?? exact(NaN, 'W'))} W that went in`, look_at: [ENTRIES, FLOW, COOLANT, ELSEWHERE], spoils: [...LOWER, ...BRACKET, ...REST] };
}

function carnot({ carnot_efficiency, efficiency_least, efficiency_most }: Seen): HeatFault | null {
  const limit = carnot_efficiency.quantity;
  if (limit === null || !above(limit, 0)) return null;
  for (const [name, value, look_at, spoils] of [
    ['P / (P + coolant heat)', efficiency_most.quantity, [FLOW, COOLANT, COUPLE, POWER, MAGNETS], [...BRACKET, ...REST]],
    ['P / heat in', efficiency_least.quantity, [ENTRIES, COUPLE, POWER, MAGNETS], [...LOWER, ...REST]],
  ] as const) {
    if (value === null || !above(difference(value, limit), 0)) continue;
    return { what: 'above_carnot', says: `${name} is ${told(value, 100)} %, above Carnot's ${told(limit, 100)} % between these temperatures`, look_at, spoils: [...spoils, 'carnot_share', 'carnot_share_most'] };
  }
  return null;
}

function above1({ efficiency_least: { quantity: eta } }: Seen): HeatFault | null {
  if (eta === null || !above(eta, 1)) return null;
  return { what: 'efficiency_above_1', says: `more power comes from the shaft than heat goes in: ${told(eta, 100)} %`, look_at: [ENTRIES, POWER, MAGNETS], spoils: [...LOWER, ...BRACKET, ...REST] };
}

const above = (q: Quantity, limit: number): boolean => q.value - expanded(q).U > limit;
const below = (q: Quantity, limit: number): boolean => q.value + expanded(q).U < limit;

function told(q: Quantity, times = 1): string {
  const U = Math.abs(times) * expanded(q).U;
  const digits = U > 0 ? Math.min(6, Math.max(0, 1 - Math.floor(Math.log10(U)))) : 2;
  return `${(times * q.value).toFixed(digits)} +-${U.toFixed(digits)}`;
}

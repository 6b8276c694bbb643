import { STEAM_ID, STEAM_MJ_kg } from '../../sense/thermal/heat.js';
import { combine, difference, ratio, sum } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';
import type { Values } from '../values/span_values.js';
import { notMeasured, workedOut } from '../values/value.js';
import type { Value } from '../values/value.js';
import { faultsOf } from './faults.js';
import type { HeatFault } from './faults.js';

/** What goes in is entered: volts and amps of a heater, or fuel that was weighed. */
export type HeatSource = 'heater' | 'fuel' | 'heater and fuel' | 'none';

export interface HeatBalance {
  readonly source: HeatSource;
  readonly heat_in_W: Value;
  readonly power_W: Value;
  readonly coolant_heat_W: Value;
  /** In less power less coolant: walls, burner gas, friction into the room. */
  readonly unaccounted_W: Value;
  readonly unaccounted_share: Value;
  /** P / heat in: the engine cannot be worse, since all losses of burner and wall are in it. */
  readonly efficiency_least: Value;
  /** P / (P + coolant heat): it cannot be better, since what the room takes only adds to what went in. */
  readonly efficiency_most: Value;
  /** 1 - Tc / Th of coolant in and hot end: no engine between them can be better. */
  readonly carnot_efficiency: Value;
  /** Both ends of the bracket over Carnot's. */
  readonly carnot_share: Value;
  readonly carnot_share_most: Value;
  /** What must hold for these to mean what they say. */
  readonly conditions: readonly string[];
  /** What cannot be: then what rests on it is no result. */
  readonly faults: readonly HeatFault[];
  readonly verified: boolean;
  readonly lacks: string | null;
}

export const KELVIN = 273.15;

/** Heat balance of one steady stretch. @param steady the gate called it so. Pure. */
export function heatBalance(values: Values, steady: boolean): HeatBalance {
  const { power_W, heat_W: coolant_heat_W, hot_C, coolant_in_C } = values;
  const { source, heat_in_W } = heatIn(values);
  const eta = (P: Quantity, of: Quantity): Quantity => ratio(P, of, '');
  const least = workedOut([power_W, heat_in_W], eta);
  const most = workedOut([power_W, coolant_heat_W], mostOf);
  const carnot = workedOut([hot_C, coolant_in_C], carnotOf);
  const left = workedOut([heat_in_W, power_W, coolant_heat_W], (q, P, c) => difference(q, sum(P, c)));
  const share = workedOut([heat_in_W, power_W, coolant_heat_W], (q, P, c) => ratio(difference(q, sum(P, c)), q, ''));
  const faults = faultsOf({ heat_in_W, power_W, coolant_heat_W, unaccounted_W: left, efficiency_least: least, efficiency_most: most, carnot_efficiency: carnot, hot_C, coolant_in_C });
  const hit = new Set(faults.flatMap((f) => f.spoils));
  const unlessFault = (name: keyof HeatBalance, v: Value): Value => (hit.has(name) ? notMeasured('no result: the instruments contradict each other, see the fault') : v);
  const sound = {
    unaccounted_W: unlessFault('unaccounted_W', left),
    unaccounted_share: unlessFault('unaccounted_share', share),
    efficiency_least: unlessFault('efficiency_least', least),
    efficiency_most: unlessFault('efficiency_most', most),
    carnot_efficiency: unlessFault('carnot_efficiency', carnot),
    carnot_share: unlessFault('carnot_share', workedOut([least, carnot], eta)),
    carnot_share_most: unlessFault('carnot_share_most', workedOut([most, carnot], eta)),
  };
  const lacks = [...new Set([heat_in_W, power_W, coolant_heat_W, hot_C].flatMap((v) => v.reason ?? []))];
  return {
    source,
    heat_in_W,
    power_W,
    coolant_heat_W,
    ...sound,
    conditions: [...conditionsOf(source, steady, sound), ...steamOf(heat_in_W)],
    faults,
    verified: faults.length === 0 && lacks.length === 0 && steady,
    lacks: lacks.length === 0 ? null : lacks.join('; '),
  };
}

function heatIn({ heater_W, fuel_W }: Values): { readonly source: HeatSource; readonly heat_in_W: Value } {
  const [heater, fuel] = [heater_W.quantity, fuel_W.quantity];
  if (heater !== null && fuel !== null && heater.value > 0) return { source: 'heater and fuel', heat_in_W: workedOut([heater_W, fuel_W], sum) };
  if (fuel !== null) return { source: 'fuel', heat_in_W: fuel_W };
  if (heater !== null && heater.value > 0) return { source: 'heater', heat_in_W: heater_W };
  return { source: 'none', heat_in_W: notMeasured(heater !== null ? `the heater was entered as off, and of fuel ${fuel_W.reason ?? 'nothing is known'}` : 'no heat input was entered: heater_V and heater_A, or fuel_in_g, fuel_out_g and fuel_LHV_MJ_kg (or fuel_HHV_MJ_kg with fuel_hydrogen_percent)') };
}

function steamOf({ quantity }: Value): string[] {
  return quantity?.parts.some((p) => p.source.id === STEAM_ID) === true ? [`the fuel's lower heating value is worked out of the higher one: all water of the flame is taken to leave as steam, ${STEAM_MJ_kg} MJ/kg at 25 C`] : [];
}

/** P / (P + Q), with what both share. */
function mostOf(P: Quantity, Q: Quantity): Quantity {
  const all = P.value + Q.value;
  return combine(P.value / all, '', [[P, Q.value / all ** 2], [Q, -P.value / all ** 2]]);
}

export function carnotOf(hot_C: Quantity, cold_C: Quantity): Quantity {
  const [hot_K, cold_K] = [hot_C.value + KELVIN, cold_C.value + KELVIN];
  return combine(1 - cold_K / hot_K, '', [[hot_C, cold_K / hot_K ** 2], [cold_C, -1 / hot_K]]);
}

function conditionsOf(source: HeatSource, steady: boolean, { efficiency_least, efficiency_most, carnot_efficiency }: Pick<HeatBalance, 'efficiency_least' | 'efficiency_most' | 'carnot_efficiency'>): string[] {
  return [
    ...(efficiency_least.quantity === null ? [] : [`the lower end counts all of the ${source === 'fuel' ? 'fuel\'s lower heating value' : 'heat that went in'} against the engine, ${source === 'heater' ? 'heater losses' : 'what the burner loses'} included`]),
    ...(efficiency_most.quantity === null
      ? []
      : ['the upper end holds if all heat in the coolant came through the engine: a flame that licks the jacket, the pump\'s own watts or a warm room add to it, and then the engine may be better than it says', 'conduction along the walls is within the engine here']),
    ...(carnot_efficiency.quantity === null ? [] : ['Carnot\'s is between the hot end where its couple sits, outside the wall, and coolant in: the gas works between less']),
    ...(steady ? [] : ['the stretch was not steady, so heat went into or came out of the metal: the balance does not hold']),
  ];
}


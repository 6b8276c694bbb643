import { enteredRows } from '../../sense/entered.js';
import { propagate } from '../../sense/uncertainty/propagate.js';
import { combine, scaled, within } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';
import { bealeNumber, westNumber } from '../ideal/beale_west.js';
import type { Similarity } from '../ideal/beale_west.js';
import { sweptOf } from '../ideal/geometry.js';
import type { Engine } from '../ideal/geometry.js';
import { idealCycle } from '../ideal/schmidt.js';
import type { Entered } from '../span.js';
import { quantityOf } from '../values/entered_values.js';
import type { Values } from '../values/span_values.js';
import { measured, notMeasured, workedOut } from '../values/value.js';
import type { Value } from '../values/value.js';
import { KELVIN } from './balance.js';

/** One steady stretch beside what its engine's volumes could do at most. */
export interface AgainstIdeal {
  /** Absolute. */
  readonly mean_Pa: Value;
  readonly swept_says: string;
  readonly beale_number: Value;
  readonly west_number: Value;
  /** Of the ideal isothermal cycle between the wall temperatures at this speed; volumes are taken as told. */
  readonly ideal_power_W: Value;
  readonly ideal_share: Value;
  readonly flags: readonly string[];
}

/** A charged engine's gauge is read to this, as limits (common practice, no source). */
const GAUGE_SHARE = 0.03;

export function againstIdeal(values: Values, engine: Engine, entered: readonly Entered[]): AgainstIdeal {
  const { power_W, speed_rpm, hot_C, coolant_in_C, coolant_out_C } = values;
  const mean_Pa = meanPressure(engine, entered);
  const swept = sweptOf(engine.geometry);
  const flags: string[] = [];
  const flagged = (s: Similarity): Quantity => {
    if (s.flag !== null) flags.push(s.flag);
    return s.number;
  };
  const cold_C = workedOut([coolant_in_C, coolant_out_C], (a, b) => combine((a.value + b.value) / 2, 'C', [[a, 0.5], [b, 0.5]]));
  const kelvin = (v: Value): Value => workedOut([v], (q) => combine(q.value + KELVIN, 'K', [[q, 1]]));
  const [hot_K, cold_K] = [kelvin(hot_C), kelvin(cold_C)];
  const apart = hot_K.quantity === null || cold_K.quantity === null || hot_K.quantity.value > cold_K.quantity.value;
  const cold = notMeasured('the hot end is not hotter than the coolant');
  const beale_number = workedOut([power_W, mean_Pa, speed_rpm], (P, p, n) => flagged(bealeNumber(P, p, swept, n)));
  const west_number = apart ? workedOut([beale_number, hot_K, cold_K], (b, h, c) => flagged(westNumber(b, h, c, swept))) : cold;
  const ideal_power_W = apart
    ? workedOut([hot_K, cold_K, mean_Pa, speed_rpm], (h, c, p, n) => propagate((hot, cool, Pa, rpm) => (idealCycle(engine.geometry, hot, cool, Pa).work_J * (rpm)) / 60, [h, c, p, n], 'W'))
    : cold;
  const ideal_share = workedOut([power_W, ideal_power_W], (P, most) => combine(P.value / most.value, '', [[P, 1 / most.value], [most, -P.value / most.value ** 2]]));
  if ((ideal_share.quantity?.value ?? 0) > 1) flags.push('more power than the ideal cycle of these volumes gives: see to the volumes, the pressure and the temperatures');
  return { mean_Pa, swept_says: swept.says, beale_number, west_number, ideal_power_W, ideal_share, flags };
}

/** Absolute, as the geometry or the barometer says. */
export function meanPressure({ mean_kPa }: Engine, entered: readonly Entered[]): Value {
  if (mean_kPa !== null) return measured(within(1000 * mean_kPa, 'Pa', GAUGE_SHARE * 1000 * mean_kPa, { id: 'geometry: mean pressure', says: 'mean pressure as told', kind: 'systematic' }));
  const barometer = entered.filter((e) => e.name === 'barometer_hPa').toSorted((a, b) => Math.abs(a.age_s) - Math.abs(b.age_s))[0];
  if (barometer === undefined) return notMeasured('no pressure is known: enter barometer_hPa, or tell mean_pressure_kPa of a charged engine in its geometry');
  const old = Math.abs(barometer.age_s) > 3600 * enteredRows.barometer_hPa.age_h ? 'the barometer was read at another time' : null;
  return measured(scaled(quantityOf(barometer), 100, 'Pa'), [old]);
}

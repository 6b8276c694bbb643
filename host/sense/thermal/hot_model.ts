import { coefficientsOf } from '../calibration/model.js';
import type { HotModel } from '../calibration/model.js';
import { fail } from '../../errors.js';
import { difference, exact, ratio, combine } from '../uncertainty/quantity.js';
import type { Quantity } from '../uncertainty/quantity.js';

/** The fixed slope of the type K converter, mV/K (MAX31855 data sheet). */
export const CONVERTER_SLOPE_mV_K = 0.041276;

/** The bead in a bath of known temperature. */
export interface HotCheck {
  /** C: melting ice, or water that boils at the pressure of the day. */
  readonly true_C: Quantity;
  /** hotTemperature there by the model without a correction, of the same couple. */
  readonly read_C: Quantity;
}

/** Two checks nearer than this show an offset and no slope. */
const APART_K = 50;

/**
 * A couple of that class, corrected by no, one (offset) or two checks (offset and slope). What couple and converter may
 * be off by stands in the correction under the same source ids as in a reading: at the temperature of the check it
 * cancels, and comes back with the distance.
 * @throws OUT_OF_RANGE for more than two checks, or two too close to each other
 */
export function hotModel(iec60584_class: 1 | 2, checks: readonly HotCheck[] = [], slope_mV_K = CONVERTER_SLOPE_mV_K): HotModel {
  if (checks.length > 2) throw fail('OUT_OF_RANGE', { what: 'The number of checks of the hot end', value: checks.length, unit: '', limit: 'at most 2', todo: 'keep melting ice and boiling water' });
  return { kind: 'type_k', slope_mV_K, iec60584_class, errors: [], ...coefficientsOf(correction(checks)) };
}

function correction([first, second]: readonly HotCheck[]): [c0: Quantity, c1: Quantity] {
  if (first === undefined) return [exact(0, 'C'), exact(0, '')];
  const off = difference(first.true_C, first.read_C);
  if (second === undefined) return [off, exact(0, '')];
  const span = difference(second.read_C, first.read_C);
  if (Math.abs(span.value) < APART_K) throw fail('OUT_OF_RANGE', { what: 'The distance of the two checks', value: Number(span.value.toFixed(2)), unit: 'K', limit: `at least ${APART_K}`, todo: 'take melting ice and boiling water, or one check only' });
  const c1 = ratio(difference(difference(second.true_C, second.read_C), off), exact(span.value, 'K'), '');
  const at = first.read_C.value;
  return [combine(off.value - c1.value * at, 'C', [[off, 1], [c1, -at]]), c1];
}

import { coefficientQuantities, errorQuantity } from '../calibration/model.js';
import type { HotModel } from '../calibration/model.js';
import { hotReading } from '../hot.js';
import { TYPE_K_TOLERANCE, typeK_C, typeK_mV, typeK_mV_per_K } from '../physics/type_k.js';
import type { Sheet } from '../sheet.js';
import { meanOf } from '../fit/sums.js';
import { combine, estimated, exact, known, within } from '../uncertainty/quantity.js';
import type { Quantity } from '../uncertainty/quantity.js';
import { coupleErrors } from './couple.js';
import { soundWords } from './hot_state.js';
import type { HotState, HotWord } from './hot_state.js';
import { random } from './ids.js';
import type { ThermalIds } from './ids.js';
import { noiseBeforeRounding_step, rounding_step, sdOf, steadyMean } from './noise.js';

export interface HotTemperature {
  readonly state: HotState;
  /** Mean over the span, in C; null with a reason. */
  readonly quantity: Quantity | null;
  readonly reason: string | null;
  /** Of the converter itself, C; null with a fault. */
  readonly junction_C: number | null;
  readonly n: number;
}

const COUPLE_STEP_K = 0.25;
const JUNCTION_STEP_K = 0.0625;
/** What the converter can tell at all (its data sheet; the reference function ends at 1372 C). */
const VOLTAGE_mV = { least: typeK_mV(-200), most: typeK_mV(1372) };

/**
 * True mean temperature of the hot end over a span of words: the fixed slope undone, the cold junction added in mV,
 * ITS-90 inverted, then the model's correction.
 *
 * @param words of one span, oldest first
 * @param moved whether something else at the bench shows that the hot end cannot have stood still
 */
export function hotTemperature(words: readonly HotWord[], model: HotModel, sheet: Sheet, ids: ThermalIds, moved = false): HotTemperature {
  const { state, reason, sound } = soundWords(words, moved);
  const none = (s: HotState, why: string | null): HotTemperature => ({ state: s, quantity: null, reason: why, junction_C: null, n: sound.length });
  if (state !== 'read') return none(state, reason);
  const told = sound.map(({ word }) => {
    const { converter_C, junction_C } = hotReading(word);
    return { converter_C: converter_C ?? Number.NaN, junction_C: junction_C ?? Number.NaN };
  });
  const e_mV = told.map(({ converter_C, junction_C }) => model.slope_mV_K * (converter_C - junction_C) + typeK_mV(junction_C));
  if (e_mV.some((e) => e < VOLTAGE_mV.least || e > VOLTAGE_mV.most)) return none('out_of_range', 'the voltage is none of a type K couple from -200 to 1372 C: see to its plug and its poles');
  const t_C = e_mV.map(typeK_C);
  const mean_C = meanOf(t_C);
  const { from_C, to_C } = TYPE_K_TOLERANCE[model.iec60584_class];
  if (mean_C < from_C || mean_C > to_C) {
    const todo = mean_C < from_C ? 'are its poles reversed' : 'is it too hot for this couple';
    return none('out_of_range', `${mean_C.toFixed(0)} C is outside ${from_C} to ${to_C} C, where class ${model.iec60584_class} has a tolerance: ${todo}?`);
  }
  const junction_C = meanOf(told.map((w) => w.junction_C));
  const converter_C = meanOf(told.map((w) => w.converter_C));
  const read = combine(mean_C, 'C', [
    [coupleErrors(model.iec60584_class, model.slope_mV_K, mean_C, junction_C, converter_C, sheet, ids), 1],
    [stepErrors(told, model.slope_mV_K, mean_C, junction_C, ids), 1],
    [noise(t_C, sheet, ids), 1],
    ...model.errors.map((term) => [errorQuantity(term, term.per === 'value' ? mean_C : 1, 'C'), 1] as const),
  ]);
  return { state, quantity: corrected(read, model), reason: null, junction_C, n: sound.length };
}

/** t + c0 + c1 t */
function corrected(read: Quantity, model: HotModel): Quantity {
  const [c0 = exact(0, 'C'), c1 = exact(0, '')] = coefficientQuantities(model);
  return combine(read.value + c0.value + c1.value * read.value, 'C', [[read, 1 + c1.value], [c0, 1], [c1, read.value]]);
}

function stepErrors(told: readonly { readonly converter_C: number; readonly junction_C: number }[], slope_mV_K: number, t_C: number, junction_C: number, ids: ThermalIds): Quantity {
  const per_mV = 1 / typeK_mV_per_K(t_C);
  const left = (values: readonly number[], step_K: number): number => step_K * rounding_step(noiseBeforeRounding_step(sdOf(values) / step_K)) * Math.sqrt(3);
  const couple_K = left(told.map((w) => w.converter_C), COUPLE_STEP_K) * slope_mV_K * per_mV;
  // A junction that is rounded shows in both terms, with opposite signs.
  const junction_K = left(told.map((w) => w.junction_C), JUNCTION_STEP_K) * Math.abs(typeK_mV_per_K(junction_C) - slope_mV_K) * per_mV;
  return combine(0, 'C', [
    [within(0, 'C', couple_K, random(`${ids.span}: converter's step`, "the converter's steps of 0.25 K")), 1],
    [within(0, 'C', junction_K, random(`${ids.span}: junction's step`, "the junction's steps of 0.0625 K")), 1],
  ]);
}

function noise(t_C: readonly number[], sheet: Sheet, ids: ThermalIds): Quantity {
  const { n, u_mean, dof } = steadyMean(t_C);
  const source = random(`${ids.span}: hot noise`, 'noise of the hot readings', 'average longer');
  return u_mean === null ? known(0, 'C', sheet.couple_noise_K / Math.sqrt(n), source) : estimated(0, 'C', u_mean, dof, source);
}

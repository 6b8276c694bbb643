import { coefficientQuantities, errorQuantity } from '../calibration/model.js';
import type { MatchModel, ThermistorModel } from '../calibration/model.js';
import { meanOf } from '../fit/sums.js';
import type { Sheet } from '../sheet.js';
import { also, combine, difference, sum } from '../uncertainty/quantity.js';
import type { Quantity } from '../uncertainty/quantity.js';
import { inputSpan } from './water_span.js';
import type { InputSpan, InputSum, WaterState } from './water_span.js';
import { noiseOfMean } from './water_temperature.js';

/** Both coolant inputs of one message. */
export interface CoolantSums {
  readonly in: InputSum;
  readonly out: InputSum;
}

export interface CoolantModels {
  readonly in: ThermistorModel;
  readonly out: ThermistorModel;
}

export interface CoolantIds {
  readonly rig: string;
  /** `thermistor 103 3950`: one type, since only like sensors are worth a difference. */
  readonly type: string;
  readonly span: string;
}

export interface CoolantDifference {
  readonly state: WaterState;
  /** Out less in, K; null with a reason. */
  readonly quantity: Quantity | null;
  readonly reason: string | null;
  /** Of both, C: where water has its density and heat. */
  readonly mean_C: Quantity | null;
  readonly matched: boolean;
}

/** The difference of each message, and its mean with all but the match. */
export interface DifferenceSpan {
  readonly in: InputSpan;
  readonly out: InputSpan;
  readonly differences_K: readonly number[];
  readonly quantity: Quantity | null;
}

export function differenceSpan(rows: readonly CoolantSums[], models: CoolantModels, sheet: Sheet, { rig, type, span }: CoolantIds): DifferenceSpan {
  const inlet = inputSpan(rows.map((r) => r.in), models.in, sheet, { rig, type, span, input: 'coolant in' });
  const outlet = inputSpan(rows.map((r) => r.out), models.out, sheet, { rig, type, span, input: 'coolant out' });
  if (inlet.mean === null || outlet.mean === null) return { in: inlet, out: outlet, differences_K: [], quantity: null };
  const differences_K = outlet.t_C.map((t, i) => t - (inlet.t_C[i] ?? Number.NaN));
  // The scatter of the differences, not that of each: what both follow together is no doubt of their difference.
  const noise = noiseOfMean(differences_K, Math.hypot(inlet.noise_K, outlet.noise_K), `${span}: coolant difference noise`, 'noise of the coolant difference');
  const apart = difference(outlet.mean, inlet.mean);
  return { in: inlet, out: outlet, differences_K, quantity: also({ ...apart, unit: 'K' }, noise) };
}

/**
 * Out less in over a span of messages. What the two sensors share by its source ids cancels as far as they are alike. The
 * offset of the match holds the same sources as they were in its bath, so taking it off leaves of the parts' tolerances
 * only what grows from there.
 */
export function coolantDifference(rows: readonly CoolantSums[], models: CoolantModels, match: MatchModel | null, sheet: Sheet, ids: CoolantIds): CoolantDifference {
  const { in: inlet, out: outlet, quantity } = differenceSpan(rows, models, sheet, ids);
  if (quantity === null || inlet.mean === null || outlet.mean === null) {
    const bad = inlet.state === 'read' ? outlet : inlet;
    return { state: bad.state, quantity: null, reason: bad.reason, mean_C: null, matched: false };
  }
  const both = sum(inlet.mean, outlet.mean);
  const mean_C = combine(both.value / 2, 'C', [[both, 0.5]]);
  return { state: 'read', quantity: match === null ? quantity : lessMatch(quantity, match), reason: null, mean_C, matched: match !== null };
}

function lessMatch(apart: Quantity, match: MatchModel): Quantity {
  const [c0] = coefficientQuantities(match, 'K');
  const matched = c0 === undefined ? apart : difference(apart, c0);
  return combine(matched.value, 'K', [[matched, 1], ...match.errors.map((term) => [errorQuantity(term, term.per === 'value' ? matched.value : 1, 'K'), 1] as const)]);
}

/** Of the sensors, C: for what only needs to know where it is. */
export const meanBath_C = ({ in: inlet, out: outlet }: DifferenceSpan): number[] => inlet.t_C.map((t, i) => meanOf([t, outlet.t_C[i] ?? t]));

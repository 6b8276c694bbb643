import type { ThermistorModel } from '../calibration/model.js';
import type { Sheet } from '../sheet.js';
import { also, estimated, known } from '../uncertainty/quantity.js';
import type { Quantity } from '../uncertainty/quantity.js';
import { random } from './ids.js';
import { steadyMean } from './noise.js';
import { inputSpan } from './water_span.js';
import type { InputSum, WaterIds, WaterState } from './water_span.js';

export interface WaterTemperature {
  readonly state: WaterState;
  /** Mean over the span, C; null with a reason. */
  readonly quantity: Quantity | null;
  readonly reason: string | null;
}

/** Mean temperature of one thermistor over a span of messages, oldest first. */
export function waterTemperature(sums: readonly InputSum[], model: ThermistorModel, sheet: Sheet, ids: WaterIds): WaterTemperature {
  const { state, reason, t_C, mean, noise_K } = inputSpan(sums, model, sheet, ids);
  if (mean === null) return { state, quantity: null, reason };
  return { state, quantity: also(mean, noiseOfMean(t_C, noise_K, `${ids.span}: ${ids.input} noise`, `noise of ${ids.input}`)), reason: null };
}

/** By the scatter of the messages, or by the noise within a message where they are few. */
export function noiseOfMean(t_C: readonly number[], noise_K: number, id: string, says: string): Quantity {
  const { n, u_mean, dof } = steadyMean(t_C);
  const source = random(id, says, 'average longer');
  return u_mean === null ? known(0, 'C', noise_K / Math.sqrt(n), source) : estimated(0, 'C', u_mean, dof, source);
}

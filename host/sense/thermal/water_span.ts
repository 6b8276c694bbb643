import { WATER_SAMPLES } from '../../../protocol/messages.js';
import { coefficientQuantities, errorQuantity } from '../calibration/model.js';
import type { ThermistorModel } from '../calibration/model.js';
import { meanOf } from '../fit/sums.js';
import { selfHeating_W, thermistorOfRatio_ohm } from '../physics/divider.js';
import { thermistor_C } from '../physics/thermistor.js';
import type { Sheet } from '../sheet.js';
import { combine, within } from '../uncertainty/quantity.js';
import type { Quantity } from '../uncertainty/quantity.js';
import { inputReading } from '../water.js';
import { adcErrors_LSB } from './adc.js';
import { random, systematic } from './ids.js';
import { noiseBeforeRounding_step, rounding_step, sdOf } from './noise.js';

/** One message's sum of conversions of one input, and its spread. */
export interface InputSum {
  readonly sum: number;
  readonly spread: number;
}

/** none: no message. low_end, high_end: a wire is shorted or off. out_of_range: beyond what the curve was made of. */
export type WaterState = 'read' | 'none' | 'low_end' | 'high_end' | 'out_of_range';

export interface WaterIds {
  /** `rig 3`: its analog converter. */
  readonly rig: string;
  /** `coolant in`: which of the inputs. */
  readonly input: string;
  /** `thermistor 103 3950`: the type of the sensor, which heats itself alike in both. */
  readonly type: string;
  /** `boot 5, tick 81233` */
  readonly span: string;
}

/** A span of one input, read through its curve: everything but the noise of the mean. */
export interface InputSpan {
  readonly state: WaterState;
  readonly reason: string | null;
  /** Of each message, C; empty unless read. */
  readonly t_C: readonly number[];
  /** Their mean with what all messages share; null unless read. */
  readonly mean: Quantity | null;
  /** Noise of one conversion in the mean of a message, as temperature: where too few messages show the scatter. */
  readonly noise_K: number;
  /** What the converter's steps leave in the mean, as standard uncertainty. */
  readonly step_u_K: number;
}

const STEPS = 1024;
/** Expected range of 64 normal values, in standard deviations (tables of order statistics). */
const RANGE_OVER_SD = 4.7;

export function inputSpan(sums: readonly InputSum[], model: ThermistorModel, sheet: Sheet, ids: WaterIds): InputSpan {
  const none = (state: WaterState, reason: string): InputSpan => ({ state, reason, t_C: [], mean: null, noise_K: Number.NaN, step_u_K: Number.NaN });
  if (sums.length === 0) return none('none', `no message of ${ids.input} came`);
  const ratios: number[] = [];
  for (const { sum, spread } of sums) {
    const { ratio, fault } = inputReading(sum, spread);
    if (fault !== null || ratio === null) return none(fault ?? 'none', endSays(ids.input, fault === 'low_end', model));
    ratios.push(ratio);
  }
  const curve = { a: model.coefficients as unknown as readonly [number, number, number, number] };
  const ratio = meanOf(ratios);
  const [from_C, to_C] = model.range_C;
  let t_C: number[];
  try {
    t_C = ratios.map((r) => thermistor_C(curve, thermistorOfRatio_ohm(r, model)));
  } catch {
    return none('out_of_range', `${ids.input} reads ${ratio.toFixed(4)} of the supply, which its curve gives no temperature: see to its plug and its resistor`);
  }
  const value = meanOf(t_C);
  if (value < from_C || value > to_C) return none('out_of_range', `${ids.input} reads ${value.toFixed(1)} C, and its curve holds from ${from_C} to ${to_C} C: see to its plug, or calibrate it further`);

  const R = thermistorOfRatio_ohm(ratio, model);
  const L = Math.log(R);
  const T2 = (thermistor_C(curve, R) + 273.15) ** 2;
  const [, c1 = 0, c2 = 0, c3 = 0] = model.coefficients;
  const per_LSB = (-T2 * (c1 + 2 * c2 * L + 3 * c3 * L * L) * (model.fixed_to === 'supply' ? 1 : -1)) / (ratio * (1 - ratio) * STEPS);
  const noise_step = noiseOfConversion_step(sums);
  const round_K = rounding_step(noise_step) * Math.sqrt(3) * Math.abs(per_LSB);
  const heat_K = (selfHeating_W(R, model, sheet.supply_V) * 1000) / sheet.thermistor_dissipation_mW_K;
  const mean = combine(value, 'C', [
    ...coefficientQuantities(model).map((c, k) => [c, -T2 * L ** k] as const),
    [adcErrors_LSB(ratio, sheet, ids.rig), per_LSB],
    [within(0, 'C', round_K, random(`${ids.span}: ${ids.input} step`, `steps of the analog converter, ${ids.input}`, 'without noise on the input only more bits would help')), 1],
    [within(0, 'C', heat_K, systematic(`${ids.rig}: ${ids.type} heats itself`, 'the thermistors heat themselves')), 1],
    ...model.errors.map((term) => [errorQuantity(term, term.per === 'value' ? value : 1, 'C'), 1] as const),
  ]);
  const noise_K = Math.abs(per_LSB) * Math.sqrt((noise_step ** 2 + (noise_step > 0 ? 1 / 12 : 0)) / WATER_SAMPLES);
  return { state: 'read', reason: null, t_C, mean, noise_K, step_u_K: round_K / Math.sqrt(3) };
}

/**
 * Noise of one conversion before rounding, in steps. Where a message shows more than two codes its range tells; with two,
 * how the sum divides between them does: the noise may be next to none, and the voltage at the edge of a step.
 */
function noiseOfConversion_step(sums: readonly InputSum[]): number {
  const spread = meanOf(sums.map((s) => s.spread));
  if (spread > 1) return spread / RANGE_OVER_SD;
  const variance = meanOf(
    sums.map(({ sum, spread: s }) => {
      const share = (sum / WATER_SAMPLES) % 1;
      return s === 0 ? 0 : share * (1 - share);
    }),
  );
  // From one message to the next the voltage may move over steps, which dithers as well.
  const between = sdOf(sums.map(({ sum }) => sum / WATER_SAMPLES));
  return noiseBeforeRounding_step(Math.sqrt(variance + between * between));
}

function endSays(input: string, low: boolean, { fixed_to }: ThermistorModel): string {
  const shorted = low === (fixed_to === 'supply');
  return shorted ? `${input} is shorted: see to its wires` : `${input} is open: see to its plug`;
}

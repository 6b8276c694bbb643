import type { FlowModel, SpeedModel, ThermistorModel } from '../../sense/calibration/model.js';
import { thermistorOfRatio_ohm } from '../../sense/physics/divider.js';
import { thermistor_C } from '../../sense/physics/thermistor.js';
import { inputReading } from '../../sense/water.js';
import { cut } from '../points/cut.js';
import type { Knowledge, Span } from '../span.js';
import { spanValues } from '../values/span_values.js';
import type { FadeReading } from './reading.js';
import { Swings } from './swing.js';

export const READING_s = 10;

/**
 * Readings of a span, one every ten seconds, for `fadeReport`. Only how they move is asked of them, so they carry no doubt.
 *
 * @param from_s of the start of the span in the run, where a run has several
 */
export function* fadeReadings(span: Span, knowledge: Knowledge, from_s = 0): Generator<FadeReading> {
  const swings = new Swings(span, (knowledge.calibrations.speed?.model ?? null) as SpeedModel | null);
  // A flow that was told once by a bucket does not move.
  const flow = (knowledge.calibrations.flow?.model ?? null) as FlowModel | null;
  const per = (READING_s * 1e6) / span.us_per_tick;
  const count = Math.floor((span.tick_to - span.tick_from) / per);
  for (let i = 0; i < count; i++) {
    const tick_from = Math.round(span.tick_from + i * per);
    const tick_to = Math.round(span.tick_from + (i + 1) * per);
    const part = cut(span, tick_from, tick_to, knowledge.magnets);
    const v = spanValues(part, knowledge);
    const swing = swings.over(tick_from, tick_to);
    yield {
      t_s: from_s + (i + 0.5) * READING_s,
      power_W: v.power_W.quantity?.value ?? null,
      speed_rpm: v.speed_rpm.quantity?.value ?? null,
      torque_Nm: v.torque_Nm.quantity?.value ?? null,
      hot_C: v.hot_C.quantity?.value ?? null,
      coolant_in_C: v.coolant_in_C.quantity?.value ?? null,
      coolant_out_C: v.coolant_out_C.quantity?.value ?? null,
      coolant_difference_K: v.coolant_difference_K.quantity?.value ?? null,
      flow_Lpmin: flow?.kind === 'pulses' ? (v.flow_Lpmin.quantity?.value ?? null) : null,
      heat_W: v.heat_W.quantity?.value ?? null,
      skin_C: skinOf(part, knowledge),
      swing_share: swing?.swing_share ?? null,
      swing_deg: swing?.swing_deg ?? null,
    };
  }
}

/** Without a curve of its own by that of the coolant's: how it moves is nearly the same. */
function skinOf({ water }: Span, { calibrations }: Knowledge): number | null {
  const model = (calibrations.skin?.model ?? calibrations.coolant_in?.model ?? null) as ThermistorModel | null;
  if (model === null) return null;
  const a = model.coefficients as unknown as readonly [number, number, number, number];
  let sum = 0;
  let n = 0;
  for (let i = 0; i < water.n; i++) {
    const { ratio, fault } = inputReading(water.skin_sum[i] as number, water.skin_spread[i] as number);
    if (ratio === null || fault !== null) continue;
    sum += ratio;
    n++;
  }
  if (n === 0) return null;
  try {
    return thermistor_C({ a }, thermistorOfRatio_ohm(sum / n, model));
  } catch {
    return null;
  }
}

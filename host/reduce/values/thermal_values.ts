import type { FlowModel, HotModel, MatchModel, ThermistorModel } from '../../sense/calibration/model.js';
import { FlowRate } from '../../sense/flow.js';
import type { FlowReading } from '../../sense/flow.js';
import { coolantDifference } from '../../sense/thermal/coolant_difference.js';
import type { CoolantSums } from '../../sense/thermal/coolant_difference.js';
import { flowQuantity } from '../../sense/thermal/flow_rate.js';
import { coolantHeat_W } from '../../sense/thermal/heat.js';
import { hotModel } from '../../sense/thermal/hot_model.js';
import type { HotWord } from '../../sense/thermal/hot_state.js';
import { hotTemperature } from '../../sense/thermal/hot_temperature.js';
import { waterTemperature } from '../../sense/thermal/water_temperature.js';
import type { Knowledge, Span } from '../span.js';
import { coolantOf } from './entered_values.js';
import { firstAt, idOf, rigOf } from './near.js';
import { measured, notMeasured, uncalibrated, workedOut } from './value.js';
import type { Value } from './value.js';

/** The type by which both coolant thermistors heat themselves alike: as where they were matched. */
const TYPE = 'thermistor';
/** Of a long span every so-many-th message: what is left out would only make small noise smaller. */
const MESSAGES_MOST = 2400;

export interface ThermalValues {
  readonly hot_C: Value;
  readonly coolant_in_C: Value;
  readonly coolant_out_C: Value;
  readonly coolant_difference_K: Value;
  readonly flow_Lpmin: Value;
  readonly heat_W: Value;
}

export function thermalValues(span: Span, knowledge: Knowledge): ThermalValues {
  const rows = sumsOf(span);
  const flow_Lpmin = flowValue(span, knowledge);
  const { difference, mean } = coolantValues(span, knowledge, rows);
  const heat_W = workedOut([flow_Lpmin, difference, mean], (q, d, t) => coolantHeat_W(q, d, t, coolantOf(knowledge.entered)));
  return {
    hot_C: hotValue(span, knowledge),
    coolant_in_C: inputValue('in', span, knowledge, rows),
    coolant_out_C: inputValue('out', span, knowledge, rows),
    coolant_difference_K: difference,
    flow_Lpmin,
    heat_W,
  };
}

/** Rows of the span, thinned. */
function* rowsWithin({ tick_from, tick_to }: Span, columns: { readonly n: number; readonly tick: Float64Array }): Generator<number> {
  const first = firstAt(columns.tick, columns.n, tick_from);
  const end = firstAt(columns.tick, columns.n, tick_to + 1);
  const step = Math.ceil(Math.max(1, end - first) / MESSAGES_MOST);
  for (let i = first; i < end; i += step) yield i;
}

function hotValue(span: Span, knowledge: Knowledge): Value {
  const { hot } = span;
  const words: HotWord[] = Array.from(rowsWithin(span, hot), (i) => ({ t_s: ((hot.tick[i] as number) * span.us_per_tick) / 1e6, word: hot.word[i] as number }));
  const couple_class = knowledge.sheet.couple_class === 1 ? 1 : 2;
  const model = (knowledge.calibrations.hot?.model ?? null) as HotModel | null;
  const rig = rigOf(knowledge);
  const { quantity, reason } = hotTemperature(words, model ?? hotModel(couple_class), knowledge.sheet, { rig, couple: `${rig}, couple 1`, span: idOf(span) });
  return quantity === null ? notMeasured(reason) : measured(quantity, [model === null ? `no couple is named: a type K of class ${couple_class} is taken` : null]);
}

function sumsOf(span: Span): CoolantSums[] {
  const { water } = span;
  return Array.from(rowsWithin(span, water), (i) => ({
    in: { sum: water.in_sum[i] as number, spread: water.in_spread[i] as number },
    out: { sum: water.out_sum[i] as number, spread: water.out_spread[i] as number },
  }));
}

const modelOf = (knowledge: Knowledge, which: 'in' | 'out'): ThermistorModel | null => (knowledge.calibrations[`coolant_${which}`]?.model ?? null) as ThermistorModel | null;

function inputValue(which: 'in' | 'out', span: Span, knowledge: Knowledge, rows: readonly CoolantSums[]): Value {
  const input = `coolant ${which}`;
  if (rows.length === 0) return notMeasured(`no message of ${input} came`);
  const model = modelOf(knowledge, which);
  if (model === null) return uncalibrated(`${input} is not calibrated`);
  const { quantity, reason } = waterTemperature(rows.map((r) => r[which]), model, knowledge.sheet, { rig: rigOf(knowledge), input, type: TYPE, span: idOf(span) });
  return quantity === null ? notMeasured(reason) : measured(quantity);
}

function coolantValues(span: Span, knowledge: Knowledge, rows: readonly CoolantSums[]): { readonly difference: Value; readonly mean: Value } {
  const both = (v: Value): { difference: Value; mean: Value } => ({ difference: v, mean: v });
  const [inModel, outModel] = [modelOf(knowledge, 'in'), modelOf(knowledge, 'out')];
  if (rows.length === 0) return both(notMeasured('no message of the coolant came'));
  if (inModel === null || outModel === null) return both(uncalibrated(`coolant ${inModel === null ? 'in' : 'out'} is not calibrated`));
  const match = (knowledge.calibrations.coolant_match?.model ?? null) as MatchModel | null;
  const got = coolantDifference(rows, { in: inModel, out: outModel }, match, knowledge.sheet, { rig: rigOf(knowledge), type: TYPE, span: idOf(span) });
  if (got.quantity === null || got.mean_C === null) return both(notMeasured(got.reason));
  return { difference: measured(got.quantity, [got.matched ? null : 'the two coolant sensors were not matched']), mean: measured(got.mean_C) };
}

function flowValue(span: Span, knowledge: Knowledge): Value {
  const model = (knowledge.calibrations.flow?.model ?? null) as FlowModel | null;
  if (model === null) return uncalibrated('the flow is not calibrated, and no bucket was timed');
  const all = model.kind === 'fixed' ? [] : flowReadings(span);
  const readings = all.slice(0, lastInTime(all) + 1);
  const got = flowQuantity(readings, model, idOf(span));
  if (got.quantity === null) return notMeasured(got.reason);
  if (got.state === 'fixed') return measured(got.quantity, ['the flow is that of the bucket, not seen now']);
  const stood = all.filter((r) => r.state === 'stopped').length;
  return measured(got.quantity, [got.reason, stood > 0 ? `the pulses of the flow meter stood still in ${stood} of ${all.length} messages` : null]);
}

/** A pulse that is a little late at the end is no proof that the flow slows. */
const LATE_PERIODS = 3;

function lastInTime(readings: readonly FlowReading[]): number {
  const flowing = readings.findLastIndex((r) => r.state === 'flowing');
  const last = readings.at(-1);
  const late = last?.state === 'slowing' && (last.pulse_age_s ?? Infinity) * (readings[flowing]?.pulse_rate_Hz ?? 0) < LATE_PERIODS;
  return late ? flowing : readings.length - 1;
}

function flowReadings(span: Span): FlowReading[] {
  const { flow, us_per_tick, tick_from, tick_to } = span;
  const rate = new FlowRate(us_per_tick);
  const readings: FlowReading[] = [];
  for (let i = 0; i < flow.n; i++) {
    const tick = flow.tick[i] as number;
    if (tick > tick_to) break;
    const pulse = flow.pulse_tick[i] as number;
    rate.message(tick, { pulse_tick: Number.isNaN(pulse) ? null : pulse, pulses: flow.pulses[i] as number });
    if (tick >= tick_from) readings.push(rate.at(tick));
  }
  return readings;
}

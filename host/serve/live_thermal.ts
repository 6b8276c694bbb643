import { coolantDifference } from '../sense/thermal/coolant_difference.js';
import type { CoolantSums } from '../sense/thermal/coolant_difference.js';
import { flowQuantity } from '../sense/thermal/flow_rate.js';
import { coolantHeat_W } from '../sense/thermal/heat.js';
import { hotModel } from '../sense/thermal/hot_model.js';
import { soundWords } from '../sense/thermal/hot_state.js';
import { hotTemperature } from '../sense/thermal/hot_temperature.js';
import { waterTemperature } from '../sense/thermal/water_temperature.js';
import type { ThermistorModel } from '../sense/calibration/model.js';
import type { Moment } from './live_load.js';
import type { InForce } from './live_records.js';
import { from, notMeasured, shown, uncalibrated } from './live_view.js';
import type { Shown } from './live_view.js';
import type { LiveWindows } from './live_windows.js';

/** Of these streams the means are over so long, or over the last message where it comes more rarely. */
const MEAN_us = 2.5e6;
/** The type by which both coolant thermistors heat themselves alike. */
const TYPE = 'thermistor';

export interface ThermalValues {
  readonly hot_C: Shown;
  readonly coolant_in_C: Shown;
  readonly coolant_out_C: Shown;
  readonly coolant_difference_K: Shown;
  readonly flow_Lpmin: Shown;
  readonly coolant_heat_W: Shown;
}

/** Which of the streams are measured now: what is older than it should be is shown as not measured. */
export interface FreshStreams {
  readonly hot: boolean;
  readonly water: boolean;
  readonly flow: boolean;
}

export function thermalValues(windows: LiveWindows, held: InForce, moment: Moment, fresh: FreshStreams): ThermalValues {
  const mean_ticks = MEAN_us / moment.us_per_tick.value;
  const rows = fresh.water ? windows.water.lately(moment.tick, mean_ticks) : [];
  const flow_Lpmin = flowShown(windows, held, moment, fresh.flow);
  const { difference, mean } = coolantShown(rows, held, moment);
  return {
    hot_C: hotShown(windows, held, moment, fresh.hot),
    coolant_in_C: inputShown('in', rows, held.coolant_in, held, moment),
    coolant_out_C: inputShown('out', rows, held.coolant_out, held, moment),
    coolant_difference_K: difference,
    flow_Lpmin,
    coolant_heat_W: from([flow_Lpmin, difference, mean], (q, d, t) => coolantHeat_W(q, d, t)),
  };
}

const spanOf = ({ boot_id, tick }: Moment): string => `boot ${boot_id}, tick ${tick}`;

function hotShown(windows: LiveWindows, held: InForce, moment: Moment, fresh: boolean): Shown {
  if (!fresh) return notMeasured('no word of the thermocouple converter comes');
  // A converter that is stuck shows in a minute of words, not in the few of the mean.
  const long = soundWords(windows.hot.lately(moment.tick, Infinity), false);
  if (long.state === 'stuck') return notMeasured(long.reason);
  const words = windows.hot.lately(moment.tick, MEAN_us / moment.us_per_tick.value);
  const couple_class = held.sheet.couple_class === 1 ? 1 : 2;
  const { quantity, reason } = hotTemperature(words, held.hot ?? hotModel(couple_class), held.sheet, { rig: held.rig, couple: `${held.rig}, couple 1`, span: spanOf(moment) });
  if (quantity === null) return notMeasured(reason);
  return shown(quantity, held.hot === null ? [`no couple is named: a type K of class ${couple_class} is taken`] : []);
}

function inputShown(which: 'in' | 'out', rows: readonly CoolantSums[], model: ThermistorModel | null, held: InForce, moment: Moment): Shown {
  const input = `coolant ${which}`;
  if (rows.length === 0) return notMeasured(`no message of ${input} comes`);
  if (model === null) return uncalibrated(`${input} is not calibrated`);
  const { quantity, reason } = waterTemperature(rows.map((r) => r[which]), model, held.sheet, { rig: held.rig, input, type: TYPE, span: spanOf(moment) });
  return quantity === null ? notMeasured(reason) : shown(quantity);
}

function coolantShown(rows: readonly CoolantSums[], held: InForce, moment: Moment): { difference: Shown; mean: Shown } {
  const both = (s: Shown): { difference: Shown; mean: Shown } => ({ difference: s, mean: s });
  if (rows.length === 0) return both(notMeasured('no message of the coolant comes'));
  if (held.coolant_in === null || held.coolant_out === null) return both(uncalibrated(`coolant ${held.coolant_in === null ? 'in' : 'out'} is not calibrated`));
  const got = coolantDifference(rows, { in: held.coolant_in, out: held.coolant_out }, held.match, held.sheet, { rig: held.rig, type: TYPE, span: spanOf(moment) });
  if (got.quantity === null || got.mean_C === null) return both(notMeasured(got.reason));
  return { difference: shown(got.quantity, got.matched ? [] : ['the two coolant sensors were not matched']), mean: shown(got.mean_C) };
}

function flowShown(windows: LiveWindows, held: InForce, moment: Moment, fresh: boolean): Shown {
  const { flow } = held;
  if (flow === null) return fresh ? uncalibrated('the flow is not calibrated') : notMeasured('no flow meter is seen, and no bucket was timed');
  const readings = fresh ? windows.flow.lately(moment.tick, MEAN_us / moment.us_per_tick.value) : [];
  const got = flowQuantity(readings, flow, spanOf(moment));
  if (got.quantity === null) return notMeasured(got.reason);
  if (got.state === 'fixed') return shown(got.quantity, ['the flow is that of the bucket, not seen now']);
  return shown(got.quantity, got.reason === null ? [] : [got.reason]);
}

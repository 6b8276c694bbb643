import { readFileSync } from 'node:fs';

import type { WaterRows } from '../../../firmware/twin/depth/block.js';
import { SamplesBench } from '../../../firmware/twin/depth/samples.js';
import type { ThermistorModel } from '../../../host/sense/calibration/model.js';
import { sheetOf } from '../../../host/sense/sheet.js';
import type { Sheet } from '../../../host/sense/sheet.js';
import { coolantDifference } from '../../../host/sense/thermal/coolant_difference.js';
import type { CoolantSums } from '../../../host/sense/thermal/coolant_difference.js';
import { isothermalMatch } from '../../../host/sense/thermal/isothermal_match.js';
import { tableModel } from '../../../host/sense/thermal/thermistor_model.js';
import { meanOfColumn, projectFile, scenarioWith, STANDING, steady } from './bench.js';
import type { Rig } from './plan.js';
import type { Read } from './trials.js';

/** What comes with the part. */
const table = readFileSync(projectFile('tests', 'published', 'data', 'ntc-10k-3950.csv'), 'utf8')
  .split('\n')
  .filter((line) => /^-?\d/.test(line))
  .map((line) => line.split(',').map(Number))
  .map(([t_C = NaN, R_ohm = NaN]) => ({ t_C, R_ohm }));

/** Both sensors and the converter behind them, each off by what nobody knows of it. */
export function coolantRig({ ofKind, own, broken }: Pick<Rig, 'ofKind' | 'own' | 'broken'>, sheet: Sheet): { [key: string]: unknown } {
  const off = (share: number): number => own.uniform(-1, 1) * share;
  const sensor = (name: string) => ({
    [`coolant_${name}_ohm_share`]: off(sheet.thermistor_ohm_share),
    [`coolant_${name}_b_share`]: off(sheet.thermistor_beta_share),
    [`coolant_${name}_fixed_share`]: off(sheet.thermistor_fixed_share),
  });
  return {
    thermistors: { coolant_in_offset_K: 0, coolant_out_offset_K: 0, dissipation_mW_K: ofKind.uniform(4, 8), ...sensor('in'), ...sensor('out') },
    adc: {
      inl_LSB: sheet.adc_nonlinearity_LSB,
      noise_LSB: ofKind.uniform(0.35, 0.8) * (broken ? 4 : 1),
      offset_LSB: off(sheet.adc_offset_LSB),
      gain_share: off(sheet.adc_gain_LSB) / 1024,
    },
  };
}

/** What the table of the part says of both. @param of such as `rig 1: `, before the sensor's name */
export function coolantModels(of: string, type: string, sheet: Sheet): { readonly in: ThermistorModel; readonly out: ThermistorModel } {
  const model = (name: string): ThermistorModel => tableModel(table, [0, 60], { fixed_ohm: sheet.thermistor_fixed_ohm, fixed_to: 'supply' }, sheet, { sensor: `${of}coolant ${name}`, type });
  return { in: model('in'), out: model('out') };
}

/** Both sensors matched in one bath, then the difference over a jacket that takes up heat. */
export function coolantTrial({ ofKind, own, broken, seed }: Rig): Read {
  const sheet = sheetOf();
  const inlet_C = ofKind.uniform(8, 28);
  const bath_C = inlet_C + ofKind.uniform(-3, 8);
  const flow_Lpmin = ofKind.logUniform(0.15, 0.8);
  const heater_W = ofKind.uniform(60, 240) * own.uniform(0.98, 1.02);
  const reading_s = ofKind.uniform(20, 60);
  const scenario = scenarioWith({
    rig: coolantRig({ ofKind, own, broken }, sheet),
    engine: { ...STANDING, hot_start: 1 },
    heat: { heater_W, coolant_in_C: inlet_C, room_C: inlet_C + ofKind.uniform(0, 5) },
    programme: { heat: steady(1), brake: steady(0), flow_Lpmin: steady(flow_Lpmin) },
    // The flow breaks off during the reading, so that the outlet runs away.
    ...(broken ? { faults: [{ kind: 'flow_lost', t_s: 102 + reading_s / 3, for_s: own.uniform(2, 8) }] } : {}),
  });
  const bench = new SamplesBench(scenario, seed, { reuse: true });
  const models = coolantModels('', '103 3950', sheet);
  const ids = (span: string) => ({ rig: 'rig', type: '103 3950', span });
  bench.act({ kind: 'bath', bath_C });
  bench.run(5);
  const bath = sumsOf(bench.run(80).water);
  const matched = isothermalMatch(bath.rows, bath.duration_s, models, sheet, ids('bath'));
  if (matched.state === 'refused') return { refused: `no match: ${matched.reason.replace(/[-\d.]+/g, '#').slice(0, 70)}` };
  bench.act({ kind: 'bath', bath_C: 'off' });
  bench.run(100);
  const { water } = bench.run(100 + reading_s);
  const read = coolantDifference(sumsOf(water).rows, models, matched.model, sheet, ids('reading'));
  if (read.quantity === null) return { refused: read.state };
  const truth = meanOfColumn(water.coolant_out_C, water.n) - meanOfColumn(water.coolant_in_C, water.n);
  return { said: read.quantity, truth, load: truth, since_zero_h: 0, verified: true };
}

export function sumsOf(w: WaterRows): { rows: CoolantSums[]; duration_s: number } {
  const rows = Array.from({ length: w.n }, (_, i) => ({
    in: { sum: w.in_sum[i] ?? 0, spread: w.in_spread[i] ?? 0 },
    out: { sum: w.out_sum[i] ?? 0, spread: w.out_spread[i] ?? 0 },
  }));
  return { rows, duration_s: (((w.tick[w.n - 1] ?? 0) - (w.tick[0] ?? 0)) * 0.5) / 1e6 };
}

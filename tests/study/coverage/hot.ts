import { SamplesBench } from '../../../firmware/twin/depth/samples.js';
import { sheetOf } from '../../../host/sense/sheet.js';
import { hotModel } from '../../../host/sense/thermal/hot_model.js';
import { hotTemperature } from '../../../host/sense/thermal/hot_temperature.js';
import { meanOfColumn, scenarioWith, STANDING, steady } from './bench.js';
import type { Rig } from './plan.js';
import type { Read } from './trials.js';

/** One mean of the hot end over some tens of seconds, at a temperature from 70 to 650 C. */
export function hotTrial({ ofKind, own, broken, seed }: Rig): Read {
  const couple_class = ofKind.pick([1, 2] as const);
  const heater_W = ofKind.uniform(22, 240) * own.uniform(0.98, 1.02);
  const noise_K = ofKind.uniform(0.05, 0.25) * (broken ? 4 : 1);
  const reading_s = ofKind.uniform(8, 60);
  const sheet = sheetOf({ couple_class });
  const share = own.uniform(-1, 1);
  const scenario = scenarioWith({
    rig: {
      thermocouple: {
        noise_K,
        junction_offset_K: own.uniform(-1, 1) * sheet.couple_junction_K,
        // The maker keeps a limit.
        offset_K: own.uniform(-1, 1) * sheet.couple_converter_K,
        couple: { class: couple_class, share },
      },
    },
    engine: { ...STANDING, hot_start: 1 },
    heat: { heater_W },
    programme: { heat: steady(1), brake: steady(0) },
    // A plug that loses contact now and then.
    ...(broken ? { faults: [1, 2, 3].map((i) => ({ kind: 'thermocouple_open', t_s: 2 + (i * reading_s) / 4, for_s: own.uniform(0.1, 0.6) })) } : {}),
  });
  const bench = new SamplesBench(scenario, seed, { reuse: true });
  bench.run(2);
  const { hot } = bench.run(2 + reading_s);
  const words = Array.from({ length: hot.n }, (_, i) => ({ t_s: ((hot.tick[i] ?? 0) * 0.5) / 1e6, word: hot.word[i] ?? 0 }));
  const read = hotTemperature(words, hotModel(couple_class), sheet, { rig: 'rig', couple: 'couple', span: 'span' });
  if (read.quantity === null) return { refused: read.state };
  const truth = meanOfColumn(hot.hot_C, hot.n);
  return { said: read.quantity, truth, load: truth, since_zero_h: 0, verified: true };
}

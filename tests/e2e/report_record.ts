import { copyFileSync } from 'node:fs';
import { join } from 'node:path';

import { openStore } from '../../host/store/open.js';
import { HandClock } from '../support/hand_clock.js';
import { tempFolder } from '../support/program.js';
import { keepCalibrations, ticksAt, writtenBoot } from '../host/cli/support/written_boot.js';
import { SamplesBench, teaselWith } from '../host/reduce/values/support/twin.js';

const FROM_s = 200;
const STEP_s = 80;
/** Down and back up again. */
const SETTINGS = [0.05, 0.2, 0.4, 0.7, 1, 0.85, 0.5, 0.3, 0.1];

interface Swept {
  readonly run_id: number;
  readonly boot_id: number;
  readonly tick_from: number;
  readonly tick_to: number;
}
let built: { readonly file: string; readonly swept: Swept } | null = null;

/** A stretch of record with a whole sweep of the simulated bench, its calibrations, zeros, a check, a build and a run: recorded once, a copy for each that asks. */
export function sweptRecord(file: string): Swept {
  if (built === null) {
    const original = join(tempFolder(), 'swept.db');
    built = { file: original, swept: record(original) };
  }
  copyFileSync(built.file, file);
  return built.swept;
}

function record(file: string): Swept {
  const author = 'tester';
  const brake = { between: 'step', points: SETTINGS.map((value, i) => ({ t_s: i === 0 ? 0 : FROM_s + i * STEP_s, value })) };
  const bench = new SamplesBench(teaselWith({ programme: { heat: { between: 'step', points: [{ t_s: 0, value: 1 }] }, brake } }), 9);
  const TO_s = FROM_s + SETTINGS.length * STEP_s;
  const clock = new HandClock();
  const store = openStore(file, { clock });
  const boot_id = writtenBoot(store, clock, bench, FROM_s, TO_s);
  keepCalibrations(store, boot_id);
  for (const s of [10, TO_s + 60]) store.records.zeros.keep({ rig_id: 1, boot_id, tick: ticksAt(s), tick_from: ticksAt(s - 5), tick_to: ticksAt(s + 5), count: -38_150, u_count: 3, n: 800, remark: '', author });
  const cal_id = store.records.calibrations.at(1, 'load', { boot_id, tick: 1 })?.cal_id ?? null;
  store.records.zeros.keepCheck({ rig_id: 1, boot_id, tick: ticksAt(30), tick_from: ticksAt(30), tick_to: ticksAt(30), count: 1, u_count: 1, n: 80, nominal_kg: 0.1, cal_id, expected: 1, read: 1, unit: 'Nm', passed: true, remark: '', author });
  for (const [name, value, unit] of [['heater_V', 12, 'V'], ['heater_A', 12.5, 'A'], ['barometer_hPa', 1004, 'hPa'], ['room_C', 21, 'C']] as const) {
    store.records.told.enter({ rig_id: 1, name, value, u: value * 0.003, unit, utc_us: clock.wall_us(), boot_id: null, tick: null, remark: '', author });
  }
  const first = store.builds.add('as printed', null, '', author);
  store.builds.setPart(first.build_id, 'displacer', { material: 'balsa', mass_g: 4.1 }, author);
  const second = store.builds.add('steel wool', first.build_id, 'coarse wool, <1 g', author);
  store.builds.setPart(second.build_id, 'displacer', { material: 'balsa and steel wool', mass_g: 4.9 }, author);
  const span = { boot_id, tick_from: ticksAt(FROM_s), tick_to: ticksAt(TO_s) };
  const run = store.runs.keep({ rig_id: 1, name: 'wool sweep', build_id: second.build_id, note: 'Does steel wool in the displacer give power?', spans: [span], author });
  store.close();
  return { run_id: run.run_id, ...span };
}

/** The twin's engine, as a builder would measure it. */
export const teaselGeometry = { name: 'Teasel', kind: 'gamma', hot: { bore_mm: 60, stroke_mm: 21.2 }, cold: { swept_cm3: 22 }, phase_deg: 90, hot_dead_cm3: 6, cold_dead_cm3: 9, regenerator_cm3: 4 };
/** Shorter waits than a real bench needs: the heat of the twin is still settling. */
export const QUICK = ['--set', 'hot_slope_K_per_min=8', '--set', 'coolant_slope_K_per_min=2', '--set', 'torque_slope_share_per_min=0.06', '--set', 'speed_slope_share_per_min=0.06', '--set', 'inlet_off_K=5', '--set', 'window_s=30'];

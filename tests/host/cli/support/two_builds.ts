import { copyFileSync } from 'node:fs';
import { join } from 'node:path';

import { openStore } from '../../../../host/store/open.js';
import type { Store } from '../../../../host/store/store.js';
import { HandClock } from '../../../support/hand_clock.js';
import { tempFolder } from '../../../support/program.js';
import { SamplesBench, teaselWith } from '../../reduce/values/support/twin.js';
import { keepCalibrations, ticksAt, writtenBoot } from './written_boot.js';

const SETTLED_s = 40;
const STEP_s = 22;
const brakes = [0.15, 0.25, 0.4, 0.6, 0.85];
const brake = { kind: 'eddy', coefficient_full_Nms: 0.0012, critical_rpm: 5400, resistivity_per_K: 0.0039, disc_heat_capacity_J_K: 45, disc_cooling_W_K: 0.12 };
const engine = (factor: number, more: object = {}): object => ({
  inertia_kgm2: 0.0021, friction_dry_Nm: 0.0035, friction_viscous_Nms: 0.00003, friction_windage_Nms2: 0.00000015, cyclic_share: 0.2, hot_lag_s: 45, hot_start: 1, start_rpm: 900, ...more,
  torque_curve: [0.04, 0.046, 0.041, 0.032, 0.02, 0.008, 0].map((torque, i) => ({ speed_rpm: [0, 300, 600, 800, 1000, 1200, 1350][i], torque_Nm: torque * factor })),
});

/** Records a bench of its own as one more boot of the rig, and labels it. */
export function recorded(store: Store, clock: HandClock, bench: SamplesBench, from_s: number, to_s: number, name: string, build_id: number | null, board_boot: number): void {
  const boot_id = writtenBoot(store, clock, bench, from_s, to_s, { boot_count: board_boot });
  if (board_boot === 1) keepCalibrations(store, boot_id);
  for (const s of [from_s - 1, to_s + 1]) store.records.zeros.keep({ rig_id: 1, boot_id, tick: ticksAt(s), tick_from: ticksAt(s - 1), tick_to: ticksAt(s), count: -38_150, u_count: 3, n: 800, remark: '', author: 'tester' });
  store.runs.keep({ rig_id: 1, name, build_id, spans: [{ boot_id, tick_from: ticksAt(from_s + 0.5), tick_to: ticksAt(to_s - 1) }], author: 'tester' });
  clock.advance(3600e6);
}

/**
 * A record of the simulated bench with two builds, each run twice in the order A B B A (r1 to r4; wool gives some 30 % more), and
 * a coast-down of no build (spun). Recorded once, a copy for each that asks.
 */
export function twoBuilds(file: string): void {
  if (built === null) {
    const original = join(tempFolder(), 'two.db');
    recordBoth(original);
    built = original;
  }
  copyFileSync(built, file);
}
let built: string | null = null;

function recordBoth(file: string): void {
  const clock = new HandClock();
  const store = openStore(file, { clock });
  const old = store.builds.add('old', null, '', 'tester').build_id;
  store.builds.setPart(old, 'regenerator', { material: 'none' }, 'tester');
  const wool = store.builds.add('wool', old, '', 'tester').build_id;
  store.builds.setPart(wool, 'regenerator', { material: 'steel wool' }, 'tester');
  const programme = { heat: { between: 'step', points: [{ t_s: 0, value: 1 }] }, brake: { between: 'step', points: brakes.map((value, i) => ({ t_s: i === 0 ? 0 : SETTLED_s + i * STEP_s, value })) } };
  const runs = [['r1', old, 1], ['r2', wool, 1.31], ['r3', wool, 1.29], ['r4', old, 1.01]] as const;
  for (const [i, [name, build, factor]] of runs.entries()) {
    recorded(store, clock, new SamplesBench(teaselWith({ engine: engine(factor), brake, programme }), 30 + i), SETTLED_s, SETTLED_s + brakes.length * STEP_s, name, build, i + 1);
  }
  const off = { between: 'step', points: [{ t_s: 0, value: 0 }] };
  const bench = new SamplesBench(teaselWith({ engine: engine(1, { hot_start: 0, start_rpm: 0 }), programme: { heat: off, brake: off } }), 40);
  bench.at(5, { kind: 'flick', speed_rpm: 900 });
  recorded(store, clock, bench, 2, 60, 'spun', null, 5);
  store.close();
}

/** Shorter waits than a real bench needs: the heat of the twin is still settling. */
export const quick = ['window_s=8', 'turns=10', 'shortest_s=8', 'turns_least=10', 'coolant_slope_K_per_min=3', 'hot_slope_K_per_min=6', 'inlet_off_K=5'];

import { Command } from 'commander';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

import { addValues } from '../../../host/cli/values_shown.js';
import { createOutput } from '../../../host/cli/output.js';
import { openStore } from '../../../host/store/open.js';
import { HandClock } from '../../support/hand_clock.js';
import { SamplesBench, teaselWith } from '../reduce/values/support/twin.js';
import { scratch } from '../store/support/board.js';
import { recorded } from './support/two_builds.js';

const place = scratch();
afterAll(() => place.remove());
const file = place.path('ramp.db');

const friction = { dry_Nm: 0.0035, viscous_Nms: 3e-5, windage_Nms2: 1.5e-7 };
const INERTIA_kgm2 = 0.0021;
const [FROM_s, TO_s] = [8, 18];

interface Said {
  readonly value: number;
  readonly U95: number;
}
interface Told {
  readonly torque_Nm: Said;
  readonly speed_rpm: Said;
  readonly power_W: Said;
  readonly acceleration: { readonly rad_s2: number; readonly torque: Said | null } | null;
  readonly warnings: readonly string[];
}

/** A cold wheel that was spun by hand and is slowed down by the brake: no torque comes from the engine, so what is left is friction. */
function spun(seed: number): SamplesBench {
  const set = (value: number): object => ({ between: 'step', points: [{ t_s: 0, value }] });
  const engine = {
    inertia_kgm2: INERTIA_kgm2, friction_dry_Nm: friction.dry_Nm, friction_viscous_Nms: friction.viscous_Nms, friction_windage_Nms2: friction.windage_Nms2, cyclic_share: 0,
    hot_lag_s: 45, hot_start: 0, start_rpm: 0, torque_curve: [{ speed_rpm: 0, torque_Nm: 0 }, { speed_rpm: 2000, torque_Nm: 0 }],
  };
  const brake = { kind: 'eddy', coefficient_full_Nms: 0.0006, critical_rpm: 5400, resistivity_per_K: 0.0039, disc_heat_capacity_J_K: 45, disc_cooling_W_K: 0.12 };
  const bench = new SamplesBench(teaselWith({ engine, brake, programme: { heat: set(0), brake: set(0.15) } }), seed);
  bench.at(FROM_s - 2, { kind: 'flick', speed_rpm: 900 });
  return bench;
}

async function values(run: string): Promise<Told> {
  let out = '';
  const program = new Command('smallbrake').exitOverride();
  addValues(program, createOutput(true, (t) => void (out += t), () => undefined));
  await program.parseAsync(['node', 'smallbrake', 'values', run, '--db', file]);
  return JSON.parse(out.trim()) as Told;
}

describe('a run in which the speed ramps', () => {
  beforeAll(() => {
    const clock = new HandClock();
    const store = openStore(file, { clock });
    const build = (name: string, like: number | null, part: string | null, mass_g: number): number => {
      const { build_id } = store.builds.add(name, like, '', 'tester');
      if (part !== null) store.builds.setPart(build_id, part, { mass_g }, 'tester');
      return build_id;
    };
    const enter = (): void => {
      const utc_us = clock.wall_us();
      void store.records.told.enter({ rig_id: 1, name: 'inertia_kgm2', value: INERTIA_kgm2, u: 5e-6, unit: 'kg m2', utc_us, ...store.read.placeAt(1, utc_us), remark: '', author: 'tester' });
    };
    const first = build('first', null, 'flywheel', 800);
    const again = build('put together again', first, null, 0);
    const other = build('other wheel', first, 'flywheel', 640);
    for (const [i, [name, id]] of ([['not measured', first], ['measured', first], ['again', again], ['changed', other]] as const).entries()) {
      recorded(store, clock, spun(50 + i), FROM_s, TO_s, name, id, i + 1);
      store.builds.use(id, { boot_id: i + 1, tick: 0 }, 'tester', '');
      if (i === 0) enter();
    }
    store.close();
  }, 60_000);

  it('gives, with the inertia, the torque that slows the wheel down and no more: friction', async () => {
    const { torque_Nm, speed_rpm, acceleration } = await values('measured');
    const w = (speed_rpm.value * 2 * Math.PI) / 60;
    expect(acceleration?.rad_s2).toBeLessThan(-2);
    const truth_Nm = -(friction.dry_Nm + friction.viscous_Nms * w + friction.windage_Nms2 * w * w);
    expect(Math.abs(torque_Nm.value - truth_Nm)).toBeLessThan(torque_Nm.U95);
    expect(torque_Nm.U95).toBeLessThan(0.2 * Math.abs(truth_Nm));
  });

  it('gives the brake\'s alone without it, off by the inertia times the acceleration', async () => {
    const [without, measured] = [await values('not measured'), await values('measured')];
    expect(without.acceleration?.torque).toBeNull();
    expect(without.torque_Nm.value).toBeGreaterThan(0);
    expect(measured.acceleration?.torque?.value).toBeCloseTo(INERTIA_kgm2 * (measured.acceleration?.rad_s2 ?? NaN), 12);
    const off_Nm = without.torque_Nm.value - measured.torque_Nm.value;
    expect(off_Nm / (-INERTIA_kgm2 * (without.acceleration?.rad_s2 ?? NaN))).toBeCloseTo(1, 1);
    expect(Math.sign(without.power_W.value)).toBe(1);
    expect(Math.sign(measured.power_W.value)).toBe(-1);
  });

  it('warns, by the name of the part, when the wheel is another than the one whose inertia was measured', async () => {
    expect((await values('measured')).warnings.join()).not.toContain('inertia');
    // The same pieces, put together again, turn as they did.
    expect((await values('again')).warnings.join()).not.toContain('inertia');
    expect((await values('changed')).warnings).toContainEqual(expect.stringMatching(/^inertia_kgm2 was entered of another build \(entry \d+\), and since then flywheel changed: measure it again/));
  });
});

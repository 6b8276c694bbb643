import { Command } from 'commander';
import { afterAll, describe, expect, it } from 'vitest';

import { addFade } from '../../../host/cli/fade.js';
import { createOutput } from '../../../host/cli/output.js';
import { openStore } from '../../../host/store/open.js';
import type { Store } from '../../../host/store/store.js';
import { HandClock } from '../../support/hand_clock.js';
import { SamplesBench, teaselWith } from '../reduce/values/support/twin.js';
import { scratch } from '../store/support/board.js';
import { keepCalibrations, ticksAt, writtenBoot } from './support/written_boot.js';

const place = scratch();
afterAll(() => place.remove());

const eddy = { kind: 'eddy', coefficient_full_Nms: 0.0006, critical_rpm: 5400, resistivity_per_K: 0, disc_heat_capacity_J_K: 45, disc_cooling_W_K: 0.12 };
const rope = { kind: 'rope', force_difference_full_N: 1.2, drum_diameter_m: 0.04 };
const engine = {
  inertia_kgm2: 0.0021, friction_dry_Nm: 0.0035, friction_viscous_Nms: 0.00003, friction_windage_Nms2: 0.00000015, cyclic_share: 0.2, hot_lag_s: 45, hot_start: 1, start_rpm: 900,
  torque_curve: [0.04, 0.046, 0.041, 0.032, 0.02, 0.008, 0].map((torque_Nm, i) => ({ speed_rpm: [0, 300, 600, 800, 1000, 1200, 1350][i], torque_Nm })),
};
const heat = { between: 'step', points: [{ t_s: 0, value: 1 }] };
/** What Teasel's bench wanders in a quiet hour. */
const wander = { power: { white_share: 0.002, slow_share: 0.002, slow_s: 300 } };
const FROM_s = 300;
const STEP_s = 120;
const SWEEP = [0.2, 0.35, 0.5, 0.75, 1];

function recorded(store: Store, clock: HandClock, bench: SamplesBench, to_s: number, name: string, build_id: number, boot_count: number): void {
  const boot_id = writtenBoot(store, clock, bench, FROM_s, to_s, { boot_count });
  if (boot_count === 1) keepCalibrations(store, boot_id);
  for (const s of [FROM_s, to_s + 1]) store.records.zeros.keep({ rig_id: 1, boot_id, tick: ticksAt(s), tick_from: ticksAt(s - 1), tick_to: ticksAt(s), count: -38_150, u_count: 3, n: 800, remark: '', author: 'tester' });
  store.runs.keep({ rig_id: 1, name, build_id, spans: [{ boot_id, tick_from: ticksAt(FROM_s + 0.5), tick_to: ticksAt(to_s - 1) }], author: 'tester' });
  clock.advance(3_600_000_000);
}

const file = place.path('fade.db');
{
  const clock = new HandClock();
  const store = openStore(file, { clock });
  const one = store.builds.add('one', null, '', 'tester').build_id;
  const other = store.builds.add('other', one, '', 'tester').build_id;
  const brake = { between: 'step', points: SWEEP.map((value, i) => ({ t_s: i === 0 ? 0 : FROM_s + i * STEP_s, value })) };
  recorded(store, clock, new SamplesBench(teaselWith({ engine, brake: eddy, programme: { heat, brake } }), 50), FROM_s + SWEEP.length * STEP_s, 'sweep', one, 1);
  const held = { heat, brake: { between: 'step', points: [{ t_s: 0, value: 0.5 }] } };
  const faults = [{ kind: 'brake_fade', t_s: 750, share: 0.15, ramp_s: 200 }];
  for (const [i, [name, kind, build, to_s]] of ([['disc', eddy, one, 1360], ['rope', rope, one, 1360], ['rebuilt', eddy, other, 720]] as const).entries()) {
    recorded(store, clock, new SamplesBench(teaselWith({ engine, brake: kind, wander, programme: held, faults }), 60 + i), to_s, name, build, i + 2);
  }
  store.close();
}

async function fade(words: readonly string[], json = true): Promise<string> {
  const lines: string[] = [];
  const program = new Command('smallbrake').exitOverride();
  addFade(program, createOutput(json, (t) => lines.push(t), () => undefined));
  await program.parseAsync(['node', 'smallbrake', 'fade', ...words, '--db', file]);
  return lines.join('');
}
interface Told {
  readonly simulated: boolean;
  readonly curve_of_run: string | null;
  readonly stretches: readonly { readonly findings: readonly { readonly cause: string | null; readonly ranked: readonly { readonly cause: string; readonly share: number }[] }[] }[];
}
const told = async (words: readonly string[]): Promise<Told> => JSON.parse(await fade(words)) as Told;
const causesOf = (t: Told): (string | null)[] => t.stretches.flatMap((s) => s.findings.map((f) => f.cause));

describe('the command fade', () => {
  it.each([['disc', 'eddy'], ['rope', 'rope']])('tells a fading %s from a fading engine by the curve of the run before', async (run, kind) => {
    const found = await told([run, '--brake', kind]);
    expect(found.simulated).toBe(true);
    expect(found.curve_of_run).toBe('sweep');
    expect(causesOf(found)).toEqual(['brake_fade']);
  });

  it('takes the curve of a run that is named, and none of another build by itself', async () => {
    expect((await told(['rebuilt'])).curve_of_run).toBeNull();
    const text = await fade(['rebuilt', '--curve', 'sweep'], false);
    expect(text).toContain('torque curve of run sweep');
    for (const line of text.split('\n')) expect(line.length, line).toBeLessThanOrEqual(80);
  });

  it('refuses a run that has no curve', async () => {
    await expect(fade(['disc', '--curve', 'rebuilt'])).rejects.toMatchObject({ code: 'WRONG_USE' });
  });
});

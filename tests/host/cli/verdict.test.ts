import { Command } from 'commander';
import { afterAll, describe, expect, it } from 'vitest';

import { addCoast } from '../../../host/cli/coast.js';
import { createOutput } from '../../../host/cli/output.js';
import { addVerdict } from '../../../host/cli/verdict.js';
import { spanValues } from '../../../host/reduce/values/span_values.js';
import { openStore } from '../../../host/store/open.js';
import { HandClock } from '../../support/hand_clock.js';
import { scratch } from '../store/support/board.js';
import { quick, twoBuilds } from './support/two_builds.js';

const place = scratch();
afterAll(() => place.remove());

const file = place.path('verdict.db');
twoBuilds(file);

const lines: string[] = [];
const notes: string[] = [];
async function command(words: readonly string[], json = false): Promise<string> {
  lines.length = 0;
  notes.length = 0;
  const program = new Command('smallbrake').exitOverride();
  const output = createOutput(json, (t) => lines.push(t), (t) => notes.push(t));
  addVerdict(program, output);
  addCoast(program, output);
  await program.parseAsync(['node', 'smallbrake', ...words, '--db', file]);
  return lines.join('');
}
const short = quick.flatMap((w) => ['--set', w]);
const narrow = (text: string): void => text.split('\n').forEach((line) => expect(line.length, line).toBeLessThanOrEqual(80));

describe('the command verdict', () => {
  it('says what it can of two runs a side, in 80 columns', async () => {
    const text = await command(['verdict', 'old', 'wool', ...short]);
    narrow(text);
    expect(text).toMatch(/^SIMULATED\nwool against old: cannot tell yet \(1 more a side until the first look\)/);
    expect(text).toMatch(/peak_power_W: \+\d\d\.\d %/);
    expect(text).toContain('ABBA');
    expect(text).toMatch(/hot_C +\d/);
    expect(text).toContain('on the fitted curves, at equal speeds');
  });

  it('gives the same as JSON, with the difference that is there, and keeps its looks', async () => {
    const told = JSON.parse(await command(['verdict', 'old', 'wool', ...short], true)) as { verdict: { difference: number; interval95: [number, number]; n: number[] }; at_speeds: unknown[]; simulated: boolean; look: object; drift_left: number; between: { u: number } };
    expect(told.verdict.n).toEqual([2, 2]);
    expect(told.verdict.difference).toBeGreaterThan(0.25);
    expect(told.verdict.difference).toBeLessThan(0.6);
    expect(told.drift_left).toBe(0);
    // One calibration all along.
    expect(told.between.u).toBeLessThan(1e-3);
    expect(told.look).toMatchObject({ look: 1, again: true, extra: 0 });
    expect(told.simulated).toBe(true);
    const store = openStore(file, { clock: new HandClock() });
    const [kept] = store.reductions.verdicts();
    store.close();
    expect(kept).toMatchObject({ measure: 'peak_power_W', word: 'cannot_tell', runs_a: 2, runs_b: 2, look: 1, run_ids: [1, 4, 2, 3] });
    expect((kept?.more as { looks: unknown[] }).looks).toHaveLength(1);
    expect(kept?.used.cal_ids).toContain(1);
  });

  it('plans what to run next, and names the change that moved it', async () => {
    const plan = await command(['verdict', 'plan', 'old', 'wool', '--runs', '4']);
    narrow(plan);
    expect(plan).toMatch(/run so far: ABBA\nnext: (A B B A|B A A B)\n/);
    const effects = await command(['verdict', 'effects', ...short]);
    narrow(effects);
    expect(effects).toMatch(/regenerator: none, piece 1 -> steel wool, piece 2/);
    await expect(command(['verdict', 'old', 'old'])).rejects.toThrow(/same build/);
    await expect(command(['verdict', 'old', 'nosuch'])).rejects.toThrow(/nosuch/);
    await expect(command(['verdict', 'old', 'wool', '--margin', '5'])).rejects.toThrow(/share below 1/);
  });
});

describe('the command verdict before anything can be compared', () => {
  const archive = (...names: readonly string[]): void => {
    const store = openStore(file, { clock: new HandClock() });
    for (const name of names) store.runs.change(store.runs.find(name).run_id, 'archived', 'tester', () => ({ archived: true }));
    store.close();
  };

  it('says of one run a side what is known, without an interval, and keeps no look', async () => {
    archive('r3', 'r4');
    const text = await command(['verdict', 'old', 'wool', ...short]);
    narrow(text);
    expect(text).toMatch(/^SIMULATED\nwool against old: cannot tell yet \(2 more a side until the first look\)/);
    expect(text).toMatch(/^old +r1 +\d\.\d+ +0\.\d+$/m);
    expect(text).toMatch(/so far \+\d\d\.\d %, without an interval/);
    expect(text).toContain('no build was run twice');
    const told = JSON.parse(await command(['verdict', 'old', 'wool', ...short], true)) as { verdict: { difference: number }; runs: { a: { result: number; U95: number }[]; b: { result: number }[] } };
    expect(told).toMatchObject({ simulated: true, says: 'cannot tell yet (2 more a side until the first look)', verdict: { word: 'cannot_tell', n: [1, 1], interval95: null, yardstick: null, needed: 3 } });
    expect(told.verdict.difference).toBeCloseTo((told.runs.b[0]?.result ?? 0) / (told.runs.a[0]?.result ?? 0) - 1, 12);
    expect(told.runs.a[0]?.U95).toBeGreaterThan(0);
    const store = openStore(file, { clock: new HandClock() });
    expect(store.reductions.verdicts()).toMatchObject([{ runs_a: 2, runs_b: 2 }]);
    store.close();
  });

  it('says so where one build was never run', async () => {
    archive('r2');
    const text = await command(['verdict', 'old', 'wool', ...short]);
    narrow(text);
    expect(text).toMatch(/^SIMULATED\nwool against old: cannot tell yet \(2 more of A, 3 more of B until the first\s+look\)/);
    expect(text).toMatch(/^wool +no run yet$/m);
    expect(text).toContain('B has no run with this result');
    archive('r1');
    expect(await command(['verdict', 'old', 'wool', ...short])).toMatch(/^SIMULATED\nwool against old: cannot tell yet \(3 more a side until the first look\)/);
    await expect(command(['verdict', 'old', 'nosuch'])).rejects.toMatchObject({ code: 'NOT_KEPT' });
  });
});

describe('the command coast', () => {
  it('lists what was captured, and friction with an inertia that is told', async () => {
    const text = await command(['coast', 'spun', '--inertia', '2.1e-3', '--u', '5e-6']);
    narrow(text);
    expect(text).toMatch(/^SIMULATED\nn {2}time/);
    expect(text).toContain('friction of coast-down 1, Nm: T = + (0.003');
    const told = JSON.parse(await command(['coast', 'spun', '--inertia', '2.1e-3', '--u', '5e-6'], true)) as { friction: { at: { speed_rpm: number; friction_Nm: { value: number; U95: number } }[] } };
    for (const { speed_rpm, friction_Nm } of told.friction.at) {
      const w = (speed_rpm * 2 * Math.PI) / 60;
      expect(Math.abs(friction_Nm.value - (0.0035 + 3e-5 * w + 1.5e-7 * w * w))).toBeLessThan(friction_Nm.U95);
    }
  });

  it('gives inertia by three threads, and says what it needs', async () => {
    const [m, R, L, I] = [0.8, 0.06, 0.5, 1.44e-3];
    const T = 2 * Math.PI * Math.sqrt((I * L) / (m * 9.81 * R * R));
    expect(await command(['coast', 'inertia', '--threads', [m, R, L, T].join(',')])).toMatch(/^inertia 0\.0014400 \+- 0\.0000\d+ kg m2/);
    // Kept now, it holds from now on: what was recorded before has none.
    expect(await command(['coast', 'inertia', '--threads', [m, R, L, T].join(','), '--keep'])).toContain('kept as inertia_kgm2');
    expect(await command(['coast', 'spun'])).toContain('tell the inertia');
    const store = openStore(file, { clock: new HandClock() });
    const [kept] = store.records.told.entries(1, 'inertia_kgm2');
    const spun = store.runs.state(store.runs.find('spun').run_id).spans[0];
    if (kept === undefined || spun === undefined) throw new Error('not kept');
    expect(kept.value).toBeCloseTo(1.44e-3, 6);
    expect(kept.remark).toContain('three threads');
    const stretch = { boot_id: spun.boot_id, tick_from: spun.tick_from, tick_to: spun.tick_to ?? 0 };
    const span = store.spans.read(stretch);
    const from = span.from_utc_us ?? 0;
    const enter = (name: string, value: number, u: number, unit: string, at_s: number): void => void store.records.told.enter({ rig_id: 1, name, value, u, unit, utc_us: from + at_s * 1e6, boot_id: null, tick: null, remark: '', author: 'tester' });
    enter('inertia_kgm2', 2.1e-3, 5e-6, 'kg m2', -10);
    // The burner is weighed before and after; a later filling is of another run.
    const long_s = ((span.tick_to - span.tick_from) * span.us_per_tick) / 1e6;
    enter('fuel_in_g', 500, 0.05, 'g', -300);
    enter('fuel_out_g', 490, 0.05, 'g', long_s + 300);
    enter('fuel_in_g', 700, 0.05, 'g', long_s + 400);
    enter('fuel_out_g', 600, 0.05, 'g', long_s + 900);
    enter('fuel_LHV_MJ_kg', 26.8, 0.3, 'MJ/kg', long_s + 1000);
    const knowledge = store.spans.knowledge(stretch, span);
    expect(knowledge.inertia_kgm2?.value).toBe(2.1e-3);
    const { fuel_W } = spanValues(span, knowledge);
    store.close();
    expect(fuel_W.quantity?.value).toBeCloseTo((10 * 26_800) / (long_s + 600), 3);
    expect(await command(['coast', 'spun'])).toContain('friction of coast-down 1, Nm: T = + (0.003');
    // The same coast-down twice: the step adds nothing.
    const ladder = (await command(['coast', 'ladder', '--wheel', 'spun', '--displacer', 'spun'], true)).trim();
    expect(lines.length).toBeGreaterThan(2);
    expect(ladder).toContain('"rung":"displacer"');
    for (const line of lines) expect((JSON.parse(line) as { added_Nm: { value: number } | null }).added_Nm?.value ?? 0).toBeCloseTo(0, 12);
    await expect(command(['coast', 'inertia'])).rejects.toThrow(/--ring/);
    await expect(command(['coast', 'spun', '--inertia', '1'])).rejects.toThrow(/needs --u/);
    await expect(command(['coast', 'ladder', '--wheel', 'spun'])).rejects.toThrow(/two runs or more/);
    expect(await command(['coast', 'swing', 'spun'])).toMatch(/not measurable: 4 magnets are too few/);
  });
});

import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

import { openStore } from '../../host/store/open.js';
import type { Said, Used } from '../../host/store/runs/reductions.js';
import { TICK_Hz, edge, force, helloOf, piece, scratch } from '../host/store/support/board.js';
import { draft, loadModel } from '../host/store/support/kept.js';
import { projectRoot } from '../support/compile.js';
import { HandClock } from '../support/hand_clock.js';
import { needTool } from '../support/need.js';

const readme = readFileSync(join(projectRoot, 'README.md'), 'utf8');
const block = /<!-- ledger examples: run by a test -->\n```sh\n([\s\S]*?)```/.exec(readme)?.[1] ?? '';
const examples = block.trim().split('\n');
/** The text between the quotes that the shell takes away. */
const sqlOf = (example: string): string => /^sqlite3 FILE (['"])(.*)\1$/.exec(example)?.[2] ?? '';

const place = scratch();
afterAll(() => place.remove());
const file = place.path('examples.db');
const begin_us = Date.UTC(2026, 4, 3, 10) * 1000;
const S = TICK_Hz;
const q = (value: number, u: number): Said[string] => ({ value, u, dof: null, U95: 2 * u, budget: [] });
const used = (cal_ids: readonly number[]): Used => ({ cal_ids, zero_ids: [], check_ids: [], entered_ids: [], settings: {}, version: '0.0.0', author: 'test' });

/** Two builds, a run on each, one mark, and what a reduction might have said; 10 turns a second for a minute, 0.02 Nm. */
beforeAll(() => {
  const store = openStore(file, { clock: new HandClock(begin_us) });
  const { boot_id } = store.bootFor({ hello: helloOf({ tick: 0 }), simulated: true });
  store.writer.mapPiece(piece(boot_id, 0, begin_us));
  for (let n = 0; n <= 600; n++) store.writer.message(edge(boot_id, n * (S / 10)));
  for (let n = 0; n <= 600; n++) store.writer.message(force(boot_id, n * (S / 10) + 7, 8000 + 500_000 * 0.02));
  store.writer.flush();
  const { cal_id } = store.records.calibrations.keep(draft({ from: { boot_id, tick: 0 }, model: loadModel([8000, 500_000, 0]) }));
  store.records.zeros.keep({ rig_id: 1, boot_id, tick: 0, tick_from: 0, tick_to: 1, count: 8000, u_count: 1, n: 80, author: 'test', remark: '' });
  const b1 = store.builds.add('B1', null, '', 'test');
  store.builds.setPart(b1.build_id, 'displacer', { material: 'balsa', mass_g: 3.1 }, 'test');
  store.builds.use(b1.build_id, null, 'test', '');
  const b2 = store.builds.add('B2', b1.build_id, '', 'test');
  store.builds.setPart(b2.build_id, 'displacer', { material: 'foam' }, 'test');
  store.builds.use(b2.build_id, { boot_id, tick: 30 * S }, 'test', '');
  const span = (from: number, to: number): ReturnType<typeof store.spansBetween> => store.spansBetween(1, begin_us + from * 1e6, begin_us + to * 1e6);
  const run = store.runs.keep({ rig_id: 1, name: 'first sweep', spans: span(0, 29), author: 'test' });
  store.runs.keep({ rig_id: 1, name: 'second sweep', spans: span(31, 60), author: 'test' });
  store.marks.keep({ rig_id: 1, utc_us: begin_us + 12e6, text: 'bled jacket', source: 'command', author: 'test' });
  while (!store.wear.count(100, true));
  const common = { verified: false, why: 'a check mass', more: {} };
  const point = (power: number): Parameters<typeof store.reductions.keepPoints>[2][number] => ({ ...common, boot_id, tick_from: 0, tick_to: 20 * S, branch: 'up', override: null, revolutions: 200, discarded: 0, said: { torque_Nm: q(0.02, 1e-4), speed_rpm: q(600, 0.1), power_W: q(power, 0.01), heat_W: { value: null, reason: 'no flow' } } });
  store.reductions.keepPoints(run.run_id, used([cal_id]), [point(9)]);
  store.reductions.keepPoints(run.run_id, used([cal_id]), [point(1.25), point(1.3)]);
  store.reductions.keepCurve(run.run_id, used([cal_id]), { ...common, state: 'found', points: 2, least_speed_rpm: 500, most_speed_rpm: 700, said: { peak_power_W: q(1.3, 0.02), peak_speed_rpm: q(610, 5) } });
  store.reductions.keepHeat(run.run_id, used([]), [{ ...common, boot_id, tick_from: 0, tick_to: 20 * S, fault: null, said: { heat_in_W: q(60, 0.5), coolant_heat_W: q(40, 1), unaccounted_share: q(0.3, 0.02), efficiency_least: q(0.021, 0.001), efficiency_most: q(0.031, 0.001) } }]);
  const verdict = { build_a: b1.build_id, build_b: b2.build_id, measure: 'peak_power_W', difference_share: 0.1, least_share: 0.04, most_share: 0.16, margin_share: 0.05, runs_a: 3, runs_b: 3, run_ids: [1, 2], more: {} };
  store.reductions.keepVerdict(used([]), { ...verdict, word: 'cannot_tell', look: 1, needed_runs: 2 });
  store.reductions.keepVerdict(used([]), { ...verdict, word: 'better', look: 2, needed_runs: null });
  expect(store.reductions.points(run.run_id)?.map((p) => [p.said['power_W']?.value, p.used.cal_ids, p.verified])).toEqual([[1.25, [cal_id], false], [1.3, [cal_id], false]]);
  expect(store.reductions.curve(2)).toBeNull();
  expect(store.reductions.verdicts().map((v) => [v.word, v.run_ids])).toEqual([['better', [1, 2]]]);
  // Corrected afterwards: what used it is stale, and says so.
  store.records.calibrations.keep(draft({ from: { boot_id, tick: 0 }, model: loadModel([8000, 500_000, 0]), replaces: cal_id }));
  store.close();
});

/** First row of each example, in its order. */
const expected: readonly Readonly<Record<string, unknown>>[] = [
  { name: 'first sweep', build: 'B1', from_t: '2026-05-03T10:00:00.000Z', minutes: expect.closeTo(29 / 60, 5), verified: 0, why: 'no_zero_after' },
  { t: '2026-05-03T10:00:12.000Z', into_run_s: 12, text: 'bled jacket' },
  { part: 'displacer', what: 'material', before: 'balsa', after: 'foam', parts_changed: 1 },
  { part: 'displacer', material: 'foam', revolutions: 301, turning_h: expect.closeTo(30.1 / 3600, 6), heat_cycles: 0 },
  { build: 'B1', hours: 0.01, runs: 1 },
  { n: 1, speed_rpm: 600, torque_Nm: 0.02, power_W: 1.25, U95_power_W: 0.02 },
  { run: 'first sweep', build: 'B1', peak_power_W: 1.3, U95_peak_power_W: 0.04, peak_speed_rpm: 610 },
  { run: 'first sweep', n: 1, heat_in_W: 60, coolant_heat_W: 40, unaccounted_share: 0.3, efficiency_least: 0.021, efficiency_most: 0.031 },
  { build_a: 'B1', build_b: 'B2', word: 'better', difference_percent: 10, needed_runs: null },
  { torque_Nm: expect.closeTo(0.02, 9), conversions: 290 },
];

describe('the ledger examples of the README', () => {
  it('are ten', () => expect(examples.length).toBe(expected.length));

  it.each(examples.map((e, i) => [sqlOf(e), i] as const))('%s', (sql, i) => {
    const db = new Database(file, { readonly: true });
    try {
      expect(db.prepare(sql).all()[0]).toEqual(expected[i]);
    } finally {
      db.close();
    }
  });

  it('what was superseded is there, and what rests on a corrected calibration is stale', () => {
    const db = new Database(file, { readonly: true });
    expect(db.prepare('SELECT power_W, heat_W, superseded, stale, cal_ids FROM points ORDER BY point_id').all()).toEqual([
      { power_W: 9, heat_W: null, superseded: 1, stale: 1, cal_ids: '[1]' },
      { power_W: 1.25, heat_W: null, superseded: 0, stale: 1, cal_ids: '[1]' },
      { power_W: 1.3, heat_W: null, superseded: 0, stale: 1, cal_ids: '[1]' },
    ]);
    db.close();
    const other = new Database(file);
    for (const table of ['reduction', 'point', 'curve', 'heat_balance', 'verdict', 'build_history', 'build_use']) {
      const before = other.prepare(`SELECT * FROM ${table}`).all();
      expect(before.length, table).toBeGreaterThan(0);
      expect(() => other.exec(`DELETE FROM ${table}`), table).toThrow('is never deleted');
      const column = other.prepare<[string], { name: string }>('SELECT name FROM pragma_table_info(?) WHERE cid = 1').get(table)?.name ?? '';
      expect(() => other.exec(`UPDATE ${table} SET ${column} = 77`), table).toThrow('is never changed');
    }
    for (const table of ['run', 'build', 'mark_note', 'part']) expect(() => other.exec(`DELETE FROM ${table}`), table).toThrow('is never deleted');
    other.close();
  });

  it.skipIf(!needTool('sqlite3', 'sqlite3', 'ledger examples by plain sqlite3'))('run as they stand in a shell', () => {
    for (const example of examples) {
      const out = execFileSync('sh', ['-c', example.replace('FILE', '"$FILE"')], { encoding: 'utf8', env: { ...process.env, FILE: file } });
      expect(out.trim(), example).not.toBe('');
    }
  });
});

import { execFileSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';

import DatabaseFile from 'better-sqlite3';
import { Command } from 'commander';
import { beforeAll, describe, expect, it } from 'vitest';

import { addCurve } from '../../host/cli/curve.js';
import { addHeat } from '../../host/cli/heat.js';
import { addPoints } from '../../host/cli/points.js';
import { renewResults } from '../../host/cli/results_work.js';
import { addResults } from '../../host/cli/results.js';
import { createOutput } from '../../host/cli/output.js';
import { addReport } from '../../host/cli/report.js';
import { reportHtml } from '../../host/page/report/report.js';
import type { ReportFacts } from '../../host/page/report/report.js';
import { openStore } from '../../host/store/open.js';
import { HandClock } from '../support/hand_clock.js';
import { needTool } from '../support/need.js';
import { tempFolder } from '../support/program.js';
import { QUICK, sweptRecord, teaselGeometry } from './report_record.js';

const folder = tempFolder();
const db = join(folder, 'bench.db');
const geometry = join(folder, 'engine.json');
const notes: string[] = [];
let swept: ReturnType<typeof sweptRecord>;

/** The command as main.ts has it, in this process. */
async function asked(words: readonly string[], json = false): Promise<string> {
  let out = '';
  const output = createOutput(json, (text) => void (out += text), (text) => void notes.push(text));
  notes.length = words.includes('--keep') ? notes.length : 0;
  const program = new Command('smallbrake').exitOverride().configureOutput({ writeErr: () => undefined });
  addCurve(program, output);
  addHeat(program, output);
  addPoints(program, output);
  addResults(program, output);
  addReport(program, output);
  await program.parseAsync(['node', 'smallbrake', ...words, '--db', db, ...QUICK]);
  return out;
}

interface PlainValue {
  value: number | null;
  U95?: number;
}

describe('from the record to curve, heat and report', { timeout: 120_000 }, () => {
  beforeAll(() => {
    swept = sweptRecord(db);
    writeFileSync(geometry, JSON.stringify(teaselGeometry));
  }, 120_000);

  it('prints the curve with plots and the last stable point within 80 columns, and marks it simulated', async () => {
    const text = await asked(['curve', 'wool sweep', '--brake', 'eddy', '--leave-out', '2: the brake was touched']);
    expect(text.split('\n')[0]).toBe('SIMULATED');
    expect(Math.max(...text.split('\n').map((l) => l.length))).toBeLessThanOrEqual(80);
    expect(text).toMatch(/peak power: \d\.\d+ \+-/);
    expect(text).toContain('point 2 left out: the brake was touched');
    expect(text).toContain('stall torque: not reached');
    expect(text).toContain('brake: eddy, as told');
    expect(text).toContain('|v');
    const plain = JSON.parse(await asked(['curve', 'wool sweep'], true)) as { peak_power_W: PlainValue; simulated: boolean; points: { power_W: PlainValue }[] };
    expect(plain.simulated).toBe(true);
    const most = Math.max(...plain.points.map((p) => p.power_W.value ?? 0));
    expect(plain.peak_power_W.value).toBeGreaterThan(0.95 * most);
    expect(plain.peak_power_W.value).toBeLessThan(1.05 * most);
  });

  it('prints the heat balance of each point, and refuses geometry that is none', async () => {
    const text = await asked(['heat', '1', '--geometry', geometry]);
    expect(Math.max(...text.split('\n').map((l) => l.length))).toBeLessThanOrEqual(80);
    expect(text).toContain('power piston, 22.00 cm3');
    expect(text).not.toContain('FAULT');
    const lines = (await asked(['heat', '1', '--geometry', geometry], true)).trim().split('\n').map((l) => JSON.parse(l) as Record<string, PlainValue>);
    expect(lines.length).toBeGreaterThanOrEqual(8);
    for (const l of lines) {
      expect(l['efficiency_least']?.value).toBeLessThan(l['efficiency_most']?.value ?? 0);
      expect(l['efficiency_most']?.value).toBeLessThan(l['carnot_efficiency']?.value ?? 0);
    }
    writeFileSync(join(folder, 'bad.json'), '{"kind": "delta"}');
    await expect(asked(['heat', '1', '--geometry', join(folder, 'bad.json')])).rejects.toThrow('kind is "delta"');
  });

  it('keeps points, curve and heat of a run, and renews them all with their settings when a calibration is corrected', async () => {
    const rows = <T>(sql: string): T[] => {
      const file = new DatabaseFile(db, { readonly: true });
      try {
        return file.prepare(sql).all() as T[];
      } finally {
        file.close();
      }
    };
    const curve = JSON.parse(await asked(['curve', '1', '--leave-out', '2: the brake was touched', '--keep'], true)) as { peak_power_W: PlainValue };
    await asked(['points', 'wool sweep', '--keep']);
    await asked(['heat', '1', '--geometry', geometry, '--keep']);
    expect(notes).toMatchObject([/^kept: the curve \(reduction 1\)\n$/, /^kept: \d+ points \(reduction 2\)\n$/, /^kept: \d+ heat balances \(reduction 3\)\n$/].map((text) => expect.stringMatching(text) as unknown));
    const [kept] = rows<{ peak_power_W: number; U95_peak_power_W: number; stale: number; points: number }>('SELECT * FROM curves');
    expect(kept).toMatchObject({ peak_power_W: curve.peak_power_W.value, U95_peak_power_W: curve.peak_power_W.U95, stale: 0 });
    const points = rows<{ power_W: number; revolutions: number; discarded: number }>('SELECT * FROM points WHERE NOT superseded');
    expect(points).toHaveLength((kept?.points ?? 0) + 1);
    expect(rows('SELECT * FROM heat WHERE NOT superseded AND beale_number > 0 AND heat_in_W > 100')).toHaveLength(points.length);
    await expect(asked(['points', '--last', '5min', '--keep'])).rejects.toThrow(/needs a run/);

    // The arm was longer by 5 % than it was told: power rises by as much.
    const store = openStore(db, { clock: new HandClock() });
    const load = store.records.calibrations.at(1, 'load', { boot_id: 1, tick: 1 });
    if (load === null || !('coefficients' in load.model) || !('arm_m' in load.model)) throw new Error('no load model');
    store.records.calibrations.keep({ ...load, model: { ...load.model, coefficients: load.model.coefficients.map((c) => c / 1.05) }, author: 'tester', remark: 'arm measured again', replaces: load.cal_id });
    store.close();
    expect(rows('SELECT * FROM points WHERE stale AND NOT superseded')).toHaveLength(points.length);
    const [renewed] = await renewResults({ db });
    expect(renewed?.reductions.map((r) => [r.kind, r.stale])).toEqual([['curve', false], ['points', false], ['heat', false]]);
    const [anew] = rows<{ peak_power_W: number; points: number; author: string }>('SELECT * FROM curves WHERE NOT superseded');
    expect(anew?.points).toBe(kept?.points);
    expect((anew?.peak_power_W ?? 0) / (kept?.peak_power_W ?? 1)).toBeCloseTo(1.05, 2);
    expect(rows('SELECT * FROM heat WHERE NOT superseded AND beale_number > 0')).toHaveLength(points.length);
    expect(rows('SELECT * FROM points')).toHaveLength(2 * points.length);
    expect(await renewResults({ db })).toEqual([]);
    expect(await asked(['results', 'keep', '1'])).toMatch(/kept: \d+ points .*, the curve .*, \d+ heat balances/);
  });

  it('writes one page that needs nothing from elsewhere and says all that a sheet must', async () => {
    const html = await asked(['report', '1', '--geometry', geometry]);
    expect(html).toMatch(/^<!doctype html>/);
    expect(html).not.toMatch(/https?:|<script|<link|<img|@import|url\(/);
    for (const said of ['SIMULATED', 'Does steel wool in the displacer give power?', 'coarse wool, &#60;1 g', 'balsa → balsa and steel wool', 'calibration 6', 'arm measured again', 'passed', 'Peak power', 'Unaccounted', 'Zero before and after', 'Uncertainty of peak power', 'Caution', 'Measured by', 'smallbrake ']) expect(html).toContain(said);
    expect(html.match(/<svg/g)).toHaveLength(2);
    // No colour: nothing but black and white is named.
    const colours = html.match(/(?:fill|stroke|color|background): ?[^;"]+|(?:fill|stroke)="[^"]+/g) ?? [];
    expect(colours.filter((c) => !/#000|#fff|none/.test(c))).toEqual([]);
  });

  it('names the raw rows by a hash that plain tools find too, and that one changed count changes', async () => {
    const facts = JSON.parse(await asked(['report', '1'], true)) as { traces: [string, string][] };
    const said = facts.traces.find(([name]) => name.startsWith('SHA-256'))?.[1] ?? '';
    const again = (): string => {
      const file = new DatabaseFile(db, { readonly: true });
      const hash = createHash('sha256');
      for (const table of ['force_raw', 'edge_raw', 'hot_raw', 'water_raw', 'flow_raw', 'mark_raw']) {
        for (const row of file.prepare(`SELECT * FROM ${table} WHERE boot_id = ? AND tick BETWEEN ? AND ? ORDER BY tick`).all(swept.boot_id, swept.tick_from, swept.tick_to)) hash.update(`${Object.values(row as object).map((v: unknown) => (v === null ? '' : Number(v))).join('|')}\n`);
      }
      file.close();
      return hash.digest('hex');
    };
    expect(said.startsWith(again())).toBe(true);
    if (!needTool('sqlite3', 'sqlite3', 'the hash of raw rows by sqlite3')) return;
    const rows = ['force_raw', 'edge_raw', 'hot_raw', 'water_raw', 'flow_raw', 'mark_raw'].map((t) => execFileSync('sqlite3', [db, `SELECT * FROM ${t} WHERE boot_id = ${swept.boot_id} AND tick BETWEEN ${swept.tick_from} AND ${swept.tick_to} ORDER BY tick`], { maxBuffer: 1e9 }));
    expect(said.startsWith(createHash('sha256').update(Buffer.concat(rows)).digest('hex'))).toBe(true);
  });

  it.skipIf(!needTool('chromium', 'chromium', 'the report on one sheet'))('prints on one sheet of A4, also with twice the points and a list of deviations', async () => {
    const facts = JSON.parse(await asked(['report', '1', '--geometry', geometry], true)) as ReportFacts;
    const { rows } = facts.points;
    const full: ReportFacts = { ...facts, points: { ...facts.points, rows: [...rows, ...rows].slice(0, 16) }, deviations: Array.from({ length: 6 }, (_, i) => `point ${i + 1} was taken by hand: the water was let run on`) };
    const page = join(folder, 'report.html');
    const pdf = join(folder, 'report.pdf');
    writeFileSync(page, reportHtml(full));
    execFileSync('chromium', ['--headless', '--no-sandbox', '--disable-gpu', '--no-pdf-header-footer', `--user-data-dir=${join(folder, 'chromium')}`, `--print-to-pdf=${pdf}`, pathToFileURL(page).href], { stdio: 'ignore', timeout: 60_000 });
    const printed = readFileSync(pdf, 'latin1');
    expect(printed.match(/\/Type\s*\/Page\b(?!s)/g)).toHaveLength(1);
    expect(printed).toMatch(/\/MediaBox \[0 0 59[45][.\d]* 84[12][.\d]*\]/);
  });
});

import { execFileSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';

import { BlockRoad } from '../../firmware/twin/depth/road.js';
import { SamplesBench } from '../../firmware/twin/depth/samples.js';
import { checkScenario } from '../../firmware/twin/scenario.js';
import { systemClock } from '../../host/clock.js';
import type { Guide } from '../../host/sense/guide/frame.js';
import { loadFitter } from '../../host/sense/guide/load_fit.js';
import { LoadSession } from '../../host/sense/guide/load_session.js';
import { ZeroSession } from '../../host/sense/guide/zero_session.js';
import { sheetOf } from '../../host/sense/sheet.js';
import { openStore } from '../../host/store/open.js';
import type { Store } from '../../host/store/store.js';
import { projectRoot } from '../support/compile.js';
import { scenarioWith, STANDING, steady } from './coverage/bench.js';

/** `npm run study:link` sets 10 runs of 3600 s. */
const RUNS = Number(process.env['STUDY_RUNS'] ?? 3);
const RUN_s = Number(process.env['STUDY_RUN_SECONDS'] ?? 20);

const folder = mkdtempSync(join(tmpdir(), 'smallbrake-correction-'));
const db = join(folder, 'bench.db');
afterAll(() => rmSync(folder, { recursive: true, force: true }));

interface Row {
  readonly run_id: number;
  readonly name: string;
  readonly value: number | null;
  readonly superseded_by: number | null;
}
const smallbrake = (...words: string[]): unknown[] =>
  execFileSync('node', [join(projectRoot, 'dist', 'host', 'cli', 'main.js'), ...words, '--db', db, '--json'], { encoding: 'utf8' })
    .trim()
    .split('\n')
    .map((line) => JSON.parse(line) as unknown);

/** A bench whose 100 g truly is 102.3 g; a guided calibration that believes 100 g, zeros, and runs. */
class Day {
  readonly bench: SamplesBench;
  readonly #store: Store;
  readonly #road: BlockRoad;
  #guide: Guide | null = null;
  boot_id = 0;

  constructor(store: Store) {
    this.#store = store;
    const change = { masses: { pieces: [{ nominal_g: 100, error_mg: 2300 }] }, engine: { ...STANDING, hot_start: 0.5 }, programme: { heat: steady(0), brake: steady(0) } };
    this.bench = new SamplesBench(checkScenario(scenarioWith(change), 'study'), 5, { reuse: true });
    this.#road = new BlockRoad(this.bench);
  }

  wait(seconds: number): void {
    const until = this.bench.t_s + seconds;
    while (this.bench.t_s < until - 1e-6) this.#record(Math.min(until, this.bench.t_s + 10));
  }

  hang(g: number, seconds: number): void {
    this.bench.act({ kind: 'hang', mass_kg: g / 1000, radius_m: 0.06 });
    this.wait(seconds);
  }

  lead(guide: Guide | null): void {
    this.#guide = guide;
    guide?.board({ boot_id: this.boot_id, us_per_tick: 0.5 });
  }

  zero(rig_id: number): void {
    const session = new ZeroSession({ last: null, scale: null });
    this.lead(session);
    this.wait(12);
    this.lead(null);
    for (const z of session.outcome?.zeros ?? []) this.#store.records.zeros.keep({ ...z, rig_id, author: 'study' });
  }

  #record(to_s: number): void {
    for (const item of this.#road.datedMessages(this.bench.run(to_s))) {
      if (item.kind === 'boot') this.boot_id = this.#store.bootFor({ hello: item.boot.hello, simulated: true }).boot_id;
      else if (item.kind === 'clockMap') this.#store.writer.mapPiece(item.piece);
      else if (item.kind === 'gap') this.#store.writer.gap(item.gap);
      else {
        this.#store.writer.message(item.dated);
        this.#guide?.message(item.dated);
      }
    }
    this.#store.writer.flush();
  }
}

describe('a wrong mass, found later', () => {
  it(`changes ${RUNS} past runs, and the old numbers are still shown`, () => {
    const store = openStore(db, { clock: systemClock });
    const day = new Day(store);
    day.wait(2);
    const rig_id = store.read.newestRig()?.rig_id ?? 0;
    const answers = { way: 'torque', length: '60 mm +-0.1 mm', gravity: '51 deg, 120 m', masses: '50 g +-0.05 g, 100 g +-0.1 g, 200 g +-0.2 g' };
    const session = new LoadSession({ limits: { capacity_N: 9.8 }, fit: loadFitter(`rig ${rig_id}`, sheetOf()), answers });
    day.lead(session);
    day.wait(4);
    for (let i = 0; i < 3; i++) {
      day.hang(200, 4);
      day.hang(0, 4);
    }
    day.wait(6);
    for (const g of [50, 100, 200]) day.hang(g, 6);
    day.wait(26);
    for (const g of [100, 50, 0]) day.hang(g, 6);
    expect(session.view().prompt.id).toBe('result');
    session.answer('keep');
    const [calibration] = session.outcome?.calibrations ?? [];
    if (calibration === undefined) throw new Error('nothing was kept');
    const kept = store.records.calibrations.keep({ rig_id, channel: calibration.channel, from: calibration.from, to: null, model: calibration.model, data: calibration.data, author: 'study', remark: '', replaces: null });
    day.lead(null);
    const names: string[] = [];
    for (let i = 0; i < RUNS; i++) {
      day.zero(rig_id);
      day.hang(30 + 5 * i, 5);
      const from = store.read.newestRig()?.newest_tick ?? 0;
      day.wait(RUN_s);
      const to = store.read.newestRig()?.newest_tick ?? 0;
      day.hang(0, 5);
      names.push(`hung ${i + 1}`);
      store.runs.keep({ rig_id, name: `hung ${i + 1}`, spans: [{ boot_id: day.boot_id, tick_from: from, tick_to: to }], author: 'study' });
    }
    day.zero(rig_id);
    store.close();

    const keeping = seconds(() => smallbrake('results', 'keep', ...names));
    const before = torques(smallbrake('results'));
    expect(before).toHaveLength(RUNS);
    const correcting = seconds(() => smallbrake('calibrations', 'correct', String(kept.cal_id), '--mass', '100 g=102.3 g', '--remark', 'weighed again'));
    const after = torques(smallbrake('results'));
    const all = torques(smallbrake('results', '--all'));
    process.stdout.write(`${RUNS} runs of ${RUN_s} s: kept in ${keeping.toFixed(1)} s, corrected and worked out anew in ${correcting.toFixed(1)} s\n`);
    for (const [i, is] of after.entries()) {
      const was = before[i]?.value ?? NaN;
      // The slope lay on 50, 100 and 200 g; a true 102.3 g makes each load a little greater than was thought.
      expect((is.value ?? NaN) / was).toBeGreaterThan(1.0005);
      expect((is.value ?? NaN) / was).toBeLessThan(1.023);
      const truth = ((30 + 5 * i) / 1000) * 9.812 * 0.06;
      expect(Math.abs((is.value ?? NaN) - truth)).toBeLessThan(Math.abs(was - truth) + 1e-6);
      // What was said before stands beside it.
      expect(all.filter((r) => r.run_id === is.run_id).map((r) => r.value)).toEqual([was, is.value]);
    }
  }, 1_200_000);
});

function torques(answers: unknown[]): Row[] {
  return (answers as Row[][]).flat().filter((r) => r.name === 'torque_Nm');
}

function seconds(work: () => unknown): number {
  const began = performance.now();
  work();
  return (performance.now() - began) / 1000;
}

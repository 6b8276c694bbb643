import { readFileSync, writeFileSync } from 'node:fs';

import Database from 'better-sqlite3';
import { Command } from 'commander';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

import { builtIn, checkScenario } from '../../../firmware/twin/scenario.js';
import { createOutput } from '../../../host/cli/output.js';
import { addTrial } from '../../../host/cli/trial.js';
import { trialNames, trialValueNames } from '../../../host/reduce/kept_drafts.js';
import { TRIAL_NAMES } from '../../../host/store/migrations/011_trials.js';
import { openStore } from '../../../host/store/open.js';
import { HandClock } from '../../support/hand_clock.js';
import { SamplesBench } from '../reduce/values/support/twin.js';
import { scratch } from '../store/support/board.js';
import { recorded } from './support/two_builds.js';

const place = scratch();
afterAll(() => place.remove());
const file = place.path('trial.db');
const geometry = place.path('engine.json');

interface Said {
  readonly value: number;
  readonly u: number;
  readonly U95: number;
}

let notes = '';
async function trial(...words: readonly string[]): Promise<Record<'swing_Pa' | 'ideal_share' | 'hot_C', Said> & { strokes: number; simulated: boolean }> {
  let out = '';
  notes = '';
  const program = new Command('smallbrake').exitOverride().configureOutput({ writeErr: () => undefined });
  addTrial(program, createOutput(true, (t) => void (out += t), (t) => void (notes += t)));
  await program.parseAsync(['node', 'smallbrake', 'trial', ...words, '--db', file]);
  return JSON.parse(out.trim()) as Awaited<ReturnType<typeof trial>>;
}
function rows<T>(sql: string): T[] {
  const db = new Database(file, { readonly: true });
  try {
    return db.prepare(sql).all() as T[];
  } finally {
    db.close();
  }
}

describe('a trial without a shaft', () => {
  beforeAll(() => {
    const fade = JSON.parse(readFileSync(builtIn('fade'), 'utf8')) as { engine: { model: object }; rig: object; programme: object };
    const bench = new SamplesBench(
      checkScenario({
        ...fade, engine: { ...fade.engine, start_rpm: 0, hot_start: 1, model: { ...fade.engine.model, kind: 'no_shaft', share: 0.6, leak_rpm: 1.5 } },
        rig: { ...fade.rig, pressure: { zero_V: 2.5, V_per_kPa: 0.09 } },
        programme: { ...fade.programme, acts: [{ t_s: 120, act: 'move displacer 20 times in 100 s' }] },
      }, 'trial'),
      5,
    );
    const clock = new HandClock();
    const store = openStore(file, { clock });
    recorded(store, clock, bench, 160, 215, 'by hand', null, 1);
    const utc_us = clock.wall_us() - 3600e6;
    void store.records.told.enter({ rig_id: 1, name: 'barometer_hPa', value: 1013.25, u: 1, unit: 'hPa', utc_us, boot_id: null, tick: null, remark: '', author: 'tester' });
    store.close();
    writeFileSync(geometry, JSON.stringify({ name: 'Teasel', kind: 'gamma', hot: { bore_mm: 60, stroke_mm: 21.2 }, cold: { swept_cm3: 22 }, phase_deg: 90, hot_dead_cm3: 6, cold_dead_cm3: 9, regenerator_cm3: 4 }));
  }, 60_000);

  it('is kept with its run, its settings and the calibrations it rests on, and stands in the view', async () => {
    const told = await trial('by hand', '--geometry', geometry, '--keep');
    expect(told.simulated).toBe(true);
    expect(told.ideal_share.value).toBeGreaterThan(0.3);
    expect(notes).toBe(`kept: trial 1, ${told.strokes} strokes\n`);
    const [kept] = rows<Record<string, unknown>>('SELECT * FROM trials');
    expect(kept).toMatchObject({
      run: 'by hand', n: 1, strokes: told.strokes, swing_Pa: told.swing_Pa.value, u_swing_Pa: told.swing_Pa.u, U95_swing_Pa: told.swing_Pa.U95,
      ideal_share: told.ideal_share.value, hot_C: told.hot_C.value, stale: 0, superseded: 0, simulated: 1, trial_id: 1,
    });
    expect(JSON.parse(String(kept?.['cal_ids']))).not.toHaveLength(0);
    const store = openStore(file, { clock: new HandClock() });
    expect(store.trials.of(1)).toMatchObject([{ trial_id: 1, run_id: 1, used: { settings: { geometry: { name: 'Teasel' } } }, said: { swing_Pa: { budget: expect.arrayContaining([]) as unknown } } }]);
    store.close();
  });

  it('worked out anew takes the place of what was kept, which stays as it was', async () => {
    await trial('by hand', '--keep');
    expect(rows<Record<string, unknown>>('SELECT trial_id, superseded, ideal_share, verified, why FROM trials ORDER BY trial_id')).toEqual([
      { trial_id: 1, superseded: 1, ideal_share: expect.any(Number) as number, verified: 1, why: null },
      { trial_id: 2, superseded: 0, ideal_share: null, verified: 0, why: expect.stringContaining('--geometry') as string },
    ]);
    const db = new Database(file);
    expect(() => db.exec('DELETE FROM trial')).toThrow('is never deleted');
    expect(() => db.exec('UPDATE trial SET strokes = 77')).toThrow('is never changed');
    expect(() => db.exec('UPDATE trial SET superseded_by = NULL WHERE trial_id = 1')).toThrow('stays');
    db.close();
  });

  it('needs a run, and one that is there', async () => {
    await expect(trial('--last', '50s', '--keep')).rejects.toThrow(/needs a run/);
    await expect(trial('nosuch', '--keep')).rejects.toMatchObject({ code: 'NOT_KEPT' });
    expect(rows('SELECT * FROM trials')).toHaveLength(2);
  });

  it('has a column in the view for each thing that it says', () => {
    expect([...trialNames, ...trialValueNames]).toEqual([...TRIAL_NAMES]);
  });
});

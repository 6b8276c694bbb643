import Database from 'better-sqlite3';
import { afterAll, describe, expect, it } from 'vitest';

import { pointsAsked } from '../../../host/cli/points_asked.js';
import { onRecord } from '../../../host/cli/record_desk.js';
import { keepReductions } from '../../../host/cli/reductions_work.js';
import { renewResults } from '../../../host/cli/results_work.js';
import { openStore } from '../../../host/store/open.js';
import { openToRead } from '../../../host/store/read.js';
import type { Standing } from '../../../host/store/runs/reductions.js';
import type { Store } from '../../../host/store/store.js';
import { HandClock } from '../../support/hand_clock.js';
import { SamplesBench, teaselWith } from '../reduce/values/support/twin.js';
import { scratch } from '../store/support/board.js';
import { draft } from '../store/support/kept.js';
import { keepCalibrations, ticksAt, writtenBoot } from './support/written_boot.js';

const place = scratch();
afterAll(() => place.remove());

const FROM_s = 200;
const TO_s = 420;
const author = 'tester';
const db = place.path('told.db');
const clock = new HandClock(1.7e15);

/** What hands do to the record between two commands: one writer at a time. */
function writing<T>(act: (store: Store) => T): T {
  const store = openStore(db, { clock });
  try {
    return act(store);
  } finally {
    store.close();
  }
}
const tell = (limits: Readonly<Record<string, number | null>>): void => writing((store) => {
  store.watch.tellLimits(Object.entries(limits).map(([name, value]) => ({ rig_id: 1, name, value, author, remark: '' })));
});
const standing = (): Standing[] => {
  const record = openToRead(db, clock);
  try {
    return record.reductions.standing();
  } finally {
    record.close();
  }
};
const usedBy = (reduction_id: number): string => {
  const file = new Database(db, { readonly: true });
  try {
    return file.prepare<[number], { cal_ids: string }>('SELECT cal_ids FROM reduction WHERE reduction_id = ?').get(reduction_id)?.cal_ids ?? '[]';
  } finally {
    file.close();
  }
};
/** A version of the load cell's calibration that takes the place of the one in force. */
const correctLoad = (): void => writing(({ records: { calibrations } }) => {
  const old = calibrations.at(1, 'load', { boot_id: 1, tick: 1 });
  if (old !== null) calibrations.keep(draft({ model: old.model, from: old.from, replaces: old.cal_id }));
});
const takenBack = (cal_id: number, does: 'retire' | 'restore'): Promise<{ readonly instead?: number | null }> => onRecord({ db }, 'calibrations', { does, cal_id, remark: 'a slip' });
/** How many points the run has, by the command. */
const found = (set: string[] = []): number => pointsAsked({ db, set }, 'steady').flatMap((a) => a.found.points).length;

describe('limits of a steady point that the rig was told', () => {
  writing((store) => {
    const bench = new SamplesBench(teaselWith({ programme: { heat: { between: 'step', points: [{ t_s: 0, value: 1 }] }, brake: { between: 'step', points: [{ t_s: 0, value: 0.5 }] } } }), 7);
    const boot_id = writtenBoot(store, clock, bench, FROM_s, TO_s);
    keepCalibrations(store, boot_id);
    for (const s of [10, 600]) store.records.zeros.keep({ rig_id: 1, boot_id, tick: ticksAt(s), tick_from: ticksAt(s - 5), tick_to: ticksAt(s + 5), count: -38_150, u_count: 3, n: 800, remark: '', author });
    store.runs.keep({ rig_id: 1, name: 'steady', build_id: null, note: '', spans: [{ boot_id, tick_from: ticksAt(FROM_s), tick_to: ticksAt(TO_s) }], author });
  });

  it('hold for stored runs too, the last telling; what is set for one question goes before them', () => {
    expect(found()).toBe(1);
    tell({ hot_slope_K_per_min: 0.01 });
    expect(found()).toBe(0);
    expect(found(['hot_slope_K_per_min=5'])).toBe(1);
    // Of the watch, and kept beside them: none of a point's.
    tell({ hot_alarm_C: 700, window_s: 50 });
    expect(pointsAsked({ db, set: [] }, 'steady')[0]?.limits).toEqual(['hot_slope_K_per_min=0.01', 'window_s=50']);
    tell({ hot_slope_K_per_min: null });
    expect(found()).toBe(1);
  });

  it('are kept with what was worked out by them, and what is renewed goes by those, whatever was told since', async () => {
    await keepReductions({ db }, 1, ['points']);
    await keepReductions({ db }, 1, ['heat'], { set: ['window_s=45'] });
    const kept = (): unknown[] => standing().map((s) => [s.kind, s.rows, (s.settings as { set: string[] }).set]).toSorted();
    const before = [['heat', 1, ['window_s=50', 'window_s=45']], ['points', 1, ['window_s=50']]];
    expect(kept()).toEqual(before);
    tell({ hot_slope_K_per_min: 0.01, window_s: 30 });
    expect(found()).toBe(0);
    // Nothing is worked out anew because a limit was told.
    expect(standing().map((s) => s.stale)).toEqual([false, false]);
    correctLoad();
    expect(standing().map((s) => s.stale)).toEqual([true, true]);
    await renewResults({ db });
    expect(standing().map((s) => s.stale)).toEqual([false, false]);
    expect(kept()).toEqual(before);
  });

  it('and what was worked out while a calibration was taken back is renewed when that is kept again', async () => {
    const held = () => writing(({ records }) => records.calibrations.at(1, 'load', { boot_id: 1, tick: 1 })?.cal_id ?? 0);
    const rests = () => standing().map((s) => (JSON.parse(usedBy(s.reduction_id)) as number[]).includes(held()));
    const corrected = held();
    await takenBack(corrected, 'retire');
    await renewResults({ db });
    expect(rests()).toEqual([true, true]);
    const { instead } = await takenBack(corrected, 'restore');
    expect(held()).toBeGreaterThan(corrected);
    // By itself nothing of it is stale: what it rests on was neither corrected nor taken back.
    expect(standing().map((s) => s.stale)).toEqual([false, false]);
    expect(rests()).toEqual([false, false]);
    expect((await renewResults({ db }, [instead ?? 0])).map((r) => r.run)).toEqual(['steady']);
    expect(rests()).toEqual([true, true]);
  });
});

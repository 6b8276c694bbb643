import Database from 'better-sqlite3';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

import { openStore } from '../../../../host/store/open.js';
import type { Store } from '../../../../host/store/store.js';
import { HandClock } from '../../../support/hand_clock.js';
import { helloOf, scratch } from '../support/board.js';
import { at, draft, loadModel } from '../support/kept.js';

const place = scratch();
afterAll(() => place.remove());

describe('what is kept of a rig', () => {
  const clock = new HandClock(Date.UTC(2026, 0, 15, 9) * 1000);
  const path = place.path('kept.db');
  let store: Store;

  beforeAll(() => {
    store = openStore(path, { clock });
    store.bootFor({ hello: helloOf({ tick: 0 }), simulated: true });
    store.bootFor({ hello: helloOf({ tick: 0, boot_count: 9, board_id: 77 }), simulated: true });
  });
  afterAll(() => store.close());

  it('comes back as it was given, with its number and its date', () => {
    const kept = store.records.calibrations.keep(draft({ remark: 'first' }));
    expect(kept).toEqual({ ...draft({ remark: 'first' }), cal_id: 1, line_id: 1, made_utc_us: clock.wall_us(), retired_utc_us: null, retired_remark: null });
    expect(store.records.calibrations.at(1, 'load', at(1, 5))).toEqual(kept);
    expect(store.records.calibrations.at(1, 'hot', at(1, 5))).toBeNull();
  });

  it('is corrected by another row, and retired once', () => {
    const { calibrations } = store.records;
    const corrected = calibrations.keep(draft({ model: loadModel([8000, 510_000, 0]), replaces: 1 }));
    expect(corrected).toMatchObject({ cal_id: 2, line_id: 1, replaces: 1 });
    expect(calibrations.at(1, 'load', at(1, 5))?.cal_id).toBe(2);
    expect(calibrations.get(1).model).toEqual(loadModel());
    calibrations.retire(2, 'was right before');
    expect(calibrations.at(1, 'load', at(1, 5))?.cal_id).toBe(1);
    expect(() => calibrations.retire(2, 'again')).toThrow('Calibration 2 was retired before');
    expect(() => calibrations.retire(12, 'who')).toThrow('Calibration 12 was never kept in this record: there is 1 to 2.');
    expect(calibrations.list(1).map((c) => [c.cal_id, c.retired_remark])).toEqual([[1, null], [2, 'was right before']]);
  });

  it("refuses what is of another rig, another channel's line, or no span", () => {
    const { calibrations, zeros } = store.records;
    expect(() => calibrations.keep(draft({ from: at(2, 0) }))).toThrow('that boot is none of this rig');
    expect(() => calibrations.keep(draft({ from: at(9, 0) }))).toThrow('none of this rig');
    expect(() => calibrations.keep(draft({ channel: 'flow', replaces: 1 }))).toThrow('one of its own rig and channel');
    expect(() => calibrations.keep(draft({ from: at(1, 7), to: at(1, 7) }))).toThrow('nothing was kept');
    expect(() => zeros.keep({ rig_id: 1, boot_id: 1, tick: 3, tick_from: 5, tick_to: 9, count: 1, u_count: 1, n: 4, author: '', remark: '' })).toThrow('nothing was kept');
    expect(calibrations.list(1)).toHaveLength(2);
  });

  it('finds the zeros on either side, without those that were taken back', () => {
    const { zeros } = store.records;
    const zero = (tick: number, count: number): number =>
      zeros.keep({ rig_id: 1, boot_id: 1, tick, tick_from: tick, tick_to: tick, count, u_count: 0.5, n: 100, author: 'a', remark: '' }).zero_id;
    const ids = [zero(100, 8000), zero(200, 8010), zero(300, 8020)];
    const near = (tick: number): (number | undefined)[] => {
      const { before, after } = zeros.near(1, at(1, tick));
      return [before?.zero_id, after?.zero_id];
    };
    expect([near(99), near(100), near(250), near(300)]).toEqual([[undefined, ids[0]], [ids[0], ids[1]], [ids[1], ids[2]], [ids[2], undefined]]);
    zeros.retire(ids[1] ?? 0, 'a mass was on it');
    expect(near(250)).toEqual([ids[0], ids[2]]);
    expect(near(250)).toEqual([ids[0], ids[2]]);
  });

  it('keeps checks, the sheet and entered values, the last one holding', () => {
    const { told, zeros } = store.records;
    const check = zeros.keepCheck({
      rig_id: 1, boot_id: 1, tick: 400, tick_from: 390, tick_to: 410, count: 9000, u_count: 1, n: 80, nominal_kg: 0.1, cal_id: 1, expected: 0.1, read: 0.101, unit: 'Nm', passed: true, author: 'a', remark: '',
    });
    expect(zeros.listChecks(1)).toEqual([check]);
    expect(check.passed).toBe(true);
    expect(told.sheet(1).cell_capacity_N).toBe(9.8);
    const tell = (value: number | null): void => void told.tellSheet({ rig_id: 1, name: 'cell_capacity_N', value, author: 'a', remark: '' });
    tell(19.6);
    expect(told.sheet(1).cell_capacity_N).toBe(19.6);
    tell(null);
    expect(told.sheet(1).cell_capacity_N).toBe(9.8);
    expect(told.sheetHistory(1).map((t) => t.value)).toEqual([19.6, null]);
    const enter = (value: number, utc_us: number): number =>
      told.enter({ rig_id: 1, name: 'barometer', value, u: 0.5, unit: 'hPa', utc_us, boot_id: null, tick: null, author: 'a', remark: '' }).entered_id;
    const ids = [enter(1000, 10), enter(1013, 20)];
    expect(told.entryAt(1, 'barometer', 9)).toBeNull();
    expect(told.entryAt(1, 'barometer', 15)?.entered_id).toBe(ids[0]);
    expect(told.entryAt(1, 'barometer', 99)?.value).toBe(1013);
    told.retireEntry(ids[1] ?? 0, 'misread');
    expect(told.entryAt(1, 'barometer', 99)?.value).toBe(1000);
  });

  describe('by any program', () => {
    const one: Readonly<Record<string, readonly [column: string, id: string]>> = {
      calibration: ['model', 'cal_id'], zero: ['count', 'zero_id'], check_mass: ['read', 'check_id'], rig_sheet: ['value', 'told_id'], entered: ['value', 'entered_id'], result: ['value', 'result_id'], run_history: ['before', 'change_id'],
    };
    let other: Database.Database;
    beforeAll(() => {
      other = new Database(path);
      other.exec(`INSERT INTO run(run_id, rig_id, name, made_utc_us, author) VALUES (1, 1, 'a run', 0, 'x'); INSERT INTO run_history(change_id, run_id, utc_us, author, before) VALUES (1, 1, 0, 'x', '{}');
        INSERT INTO result(run_id, name, unit, value, u, verified, budget, zero_ids, check_ids, entered_ids, made_utc_us, version) VALUES (1, 'torque', 'Nm', 1, 0.1, 1, '[]', '[]', '[]', '[]', 0, '1'),
          (1, 'torque', 'Nm', 2, 0.1, 1, '[]', '[]', '[]', '[]', 0, '1'); INSERT INTO result_uses VALUES (1, 1)`);
    });
    afterAll(() => other.close());

    it.each(Object.entries(one))('%s is neither changed nor deleted nor replaced', (table, [column, id]) => {
      const before = other.prepare(`SELECT * FROM ${table}`).all();
      expect(before.length).toBeGreaterThan(0);
      const fresh = column === 'model' || column === 'before' ? `'{"kind":"fixed"}'` : '123456.5';
      expect(() => other.exec(`UPDATE ${table} SET ${column} = ${fresh}`)).toThrow('is never changed');
      expect(() => other.exec(`UPDATE OR REPLACE ${table} SET rowid = rowid + 1000`)).toThrow('is never changed');
      expect(() => other.exec(`DELETE FROM ${table}`)).toThrow('is never deleted');
      const columns = other.prepare<[], { name: string }>(`SELECT name FROM pragma_table_info('${table}')`).all().map((c) => c.name);
      const others = columns.map((c) => (c === column ? fresh : c)).join(', ');
      expect(() => other.exec(`INSERT OR REPLACE INTO ${table}(${columns.join(', ')}) SELECT ${others} FROM ${table} WHERE ${id} = 1`)).toThrow('is never changed');
      expect(() => other.exec(`REPLACE INTO ${table}(rowid, ${columns.slice(1).join(', ')}) SELECT ${id}, ${others.split(', ').slice(1).join(', ')} FROM ${table} WHERE ${id} = 1`)).toThrow('is never changed');
      expect(other.prepare(`SELECT * FROM ${table}`).all()).toEqual(before);
    });

    it('JSON that is none is not taken; one that a program forced in is told by name', () => {
      expect(() => other.exec(`INSERT INTO calibration(cal_id, rig_id, channel, line_id, boot_from, tick_from, model, data, made_utc_us, author, remark) VALUES (3, 1, 'load', 3, 1, 0, '{"kind"', '1', 0, '', '')`)).toThrow();
      store.records.calibrations.keep(draft({ from: at(1, 500), remark: 'to be damaged' }));
      const { sql } = other.prepare<[], { sql: string }>("SELECT sql FROM sqlite_schema WHERE name = 'calibration_frozen'").get() ?? { sql: '' };
      other.exec(`DROP TRIGGER calibration_frozen; PRAGMA ignore_check_constraints = ON; UPDATE calibration SET data = '{"points":[1,' WHERE cal_id = 3`);
      other.exec(`PRAGMA ignore_check_constraints = OFF; ${sql}`);
      expect(() => store.records.calibrations.get(3)).toThrow('What was kept as calibration 3 cannot be read');
      // The views need no data, so they go on; and it can be retired.
      expect(store.records.calibrations.retire.bind(store.records.calibrations, 3, 'damaged')).toThrow('cannot be read');
      expect(store.records.calibrations.at(1, 'load', at(1, 600))?.cal_id).toBe(1);
    });

    it('what was retired or superseded is not so again, nor brought back', () => {
      expect(() => other.exec('UPDATE calibration SET retired_utc_us = NULL, retired_remark = NULL WHERE cal_id = 2')).toThrow('stays');
      expect(() => other.exec(`UPDATE calibration SET retired_remark = 'else' WHERE cal_id = 2`)).toThrow('stays');
      other.exec('UPDATE result SET superseded_by = 2 WHERE result_id = 1');
      expect(() => other.exec('UPDATE result SET superseded_by = NULL WHERE result_id = 1')).toThrow('stays');
      expect(() => other.exec('UPDATE result SET superseded_by = 1 WHERE result_id = 2')).toThrow('CHECK');
      expect(() => other.exec('DELETE FROM result_uses')).toThrow('never deleted');
      expect(() => other.exec('UPDATE result_uses SET cal_id = 2')).toThrow('never changed');
    });
  });
});

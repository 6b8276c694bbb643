import { afterAll, beforeAll, describe, expect, it } from 'vitest';

import type { LoadModel } from '../../../../host/sense/calibration/model.js';
import { ageWarning, enteredNames, enteredRows, enteredValue } from '../../../../host/sense/entered.js';
import { actOnRecord, readRecord } from '../../../../host/serve/records.js';
import type { Desk } from '../../../../host/serve/record_acts.js';
import type { Comparison } from '../../../../host/store/records/compare.js';
import { openStore } from '../../../../host/store/open.js';
import type { Store } from '../../../../host/store/store.js';
import { HandClock } from '../../../support/hand_clock.js';
import { TICK_Hz, force, helloOf, piece, scratch } from '../support/board.js';
import { guidedLoad } from '../support/guided_load.js';
import { at, draft } from '../support/kept.js';

const place = scratch();
afterAll(() => place.remove());

const begin_us = Date.UTC(2026, 0, 15, 9) * 1000;
describe('acts on the record', () => {
  const clock = new HandClock(begin_us);
  let store: Store;
  let desk: Desk;
  beforeAll(() => {
    store = openStore(place.path('acts.db'), { clock });
    desk = { store, author: 'tester', now_us: () => clock.wall_us() };
  });
  afterAll(() => store.close());
  const act = (route: 'calibrations' | 'zeros' | 'sheet' | 'entered', body: object): unknown => actOnRecord(desk, route, body);

  it('say so where no rig was ever seen', () => {
    expect(readRecord(desk, 'calibrations')).toEqual({ simulated: false, calibrations: [] });
    expect(() => act('sheet', { values: { cell_capacity_N: 5 } })).toThrow('no board was ever seen in this file');
    store.bootFor({ hello: helloOf({ tick: 0 }), simulated: true });
    store.writer.mapPiece(piece(1, 0, begin_us));
    store.writer.message(force(1, 100 * TICK_Hz, 1));
    store.writer.flush();
  });

  it('correct a mass that was another: fitted anew from what was kept, over the same span, the old one still there', () => {
    const { model, data } = guidedLoad();
    const old = store.records.calibrations.keep(draft({ model, data, to: at(1, 90 * TICK_Hz) }));
    const wrong = (model.coefficients[1] ?? 0) / 500_000;
    expect(wrong).toBeGreaterThan(1.01);

    const done = act('calibrations', { does: 'correct', cal_id: old.cal_id, correction: { masses: ['100 g=102.3 g +-0.01 g'] }, remark: 'weighed again' }) as { kept: number; comparison: Comparison };
    const kept = store.records.calibrations.get(done.kept);
    expect(kept).toMatchObject({ replaces: old.cal_id, line_id: old.cal_id, from: old.from, to: old.to, author: 'tester', remark: 'weighed again' });
    const right = (kept.model as LoadModel).coefficients[1] ?? 0;
    expect(Math.abs(right / 500_000 - 1)).toBeLessThan(5e-4);
    expect(store.records.calibrations.get(old.cal_id)).toEqual(old);
    expect(store.records.calibrations.at(1, 'load', at(1, 5))?.cal_id).toBe(done.kept);
    const [, , , , top] = done.comparison.curve;
    expect((top?.b ?? 0) / (top?.a ?? 1)).toBeCloseTo(wrong, 3);
    expect(done.comparison.coefficients[1]).toMatchObject({ a: model.coefficients[1], b: right });
    expect(done.comparison.budget.length).toBeGreaterThan(2);
    // A correction of the correction begins where that one ended.
    const again = act('calibrations', { does: 'correct', cal_id: done.kept, correction: { length: '61.2 mm +-0.1 mm', masses: ['100 g=102.3 g'] } }) as { kept: number };
    expect((store.records.calibrations.get(again.kept).model as LoadModel).coefficients[1]).toBeCloseTo((right * 60) / 61.2, 0);
  });

  it('refuse a correction that corrects nothing, with the reason', () => {
    const correct = (correction: object, cal_id = 1): (() => unknown) => () => act('calibrations', { does: 'correct', cal_id, correction });
    const before = store.records.calibrations.list(1).length;
    expect(correct({})).toThrow('nothing was said to be wrong');
    expect(correct({ masses: ['70 g=71 g'] })).toThrow('no 70 g was hung, but 50 g, 100 g');
    expect(correct({ masses: ['100 g'] })).toThrow();
    expect(correct({ length: 'long' })).toThrow('a length is a number');
    expect(correct({ gravity: '9.8 m/s2' }, 99)).toThrow('Calibration 99 was never kept');
    expect(correct({ colour: 'red' })).toThrow('must NOT have additional properties');
    const bare = store.records.calibrations.keep(draft({ data: null }));
    expect(correct({ length: '61 mm' }, bare.cal_id)).toThrow('does not keep the readings');
    act('calibrations', { does: 'retire', cal_id: bare.cal_id, remark: 'a test' });
    expect(store.records.calibrations.list(1)).toHaveLength(before + 1);
  });

  it('keep again what was taken back by mistake, as a row of its own that holds where the first did', () => {
    const standing = (): number | undefined => store.records.calibrations.at(1, 'load', at(1, 5))?.cal_id;
    const restore = (cal_id: number): unknown => act('calibrations', { does: 'restore', cal_id, remark: 'by mistake' });
    const before = standing() ?? 0;
    const old = store.records.calibrations.get(before);
    expect(() => restore(before)).toThrow(`calibration ${before} was not taken back`);
    act('calibrations', { does: 'retire', cal_id: before, remark: 'a slip' });
    const instead = standing();
    expect(instead).toBeLessThan(before);
    const { kept, ...rest } = restore(before) as { kept: number };
    expect(rest).toEqual({ restored: before, instead });
    expect(standing()).toBe(kept);
    expect(store.records.calibrations.get(kept)).toMatchObject({ model: old.model, data: old.data, from: old.from, to: old.to, line_id: old.line_id, replaces: before, remark: `${before} again: by mistake` });
    expect(store.records.calibrations.get(before).retired_utc_us).not.toBeNull();
    // Once more, and it would stand twice.
    expect(() => restore(before)).toThrow(`calibration ${kept} stands in the place of ${before}`);
    // What was corrected is not put above its correction.
    act('calibrations', { does: 'retire', cal_id: 1, remark: 'the wrong mass' });
    expect(() => restore(1)).toThrow(/stands in the place of 1: take that back first/);
    expect((act('calibrations', { does: 'compare', cal_id: before, other_id: kept }) as Comparison).says).toBe('Both say the same.');
    expect((act('calibrations', { does: 'compare', cal_id: 1, other_id: kept }) as Comparison).says).toMatch(/^The slope of the load cell moved by .* from calibration 1 to \d+, because the one was corrected\.$/);
  });

  it('keep zeros, check masses and entries again too, once', () => {
    const { zeros, told } = store.records;
    const zero = zeros.keep({ rig_id: 1, boot_id: 1, tick: 50, tick_from: 40, tick_to: 60, count: 8000, u_count: 2, n: 80, remark: 'cold', author: 'a' });
    const check = zeros.keepCheck({ rig_id: 1, boot_id: 1, tick: 90, tick_from: 80, tick_to: 95, count: 9000, u_count: 2, n: 80, nominal_kg: 0.1, cal_id: 1, expected: 0.1, read: 0.101, unit: 'Nm', passed: false, remark: '', author: 'a' });
    const entry = told.enter({ rig_id: 1, name: 'heater_V', value: 12.1, u: 0.05, unit: 'V', utc_us: begin_us + 5e6, boot_id: 1, tick: 10, remark: '', author: 'a' });
    const cases = [
      { route: 'zeros', retire: { zero_id: zero.zero_id }, restore: { does: 'restore', zero_id: zero.zero_id }, list: () => zeros.list(1), id: 'zero_id', first: zero },
      { route: 'zeros', retire: { does: 'retire', check_id: check.check_id }, restore: { does: 'restore', check_id: check.check_id }, list: () => zeros.listChecks(1), id: 'check_id', first: check },
      { route: 'entered', retire: { retire: entry.entered_id }, restore: { restore: entry.entered_id }, list: () => told.entries(1, 'heater_V'), id: 'entered_id', first: entry },
    ] as const;
    for (const { route, retire, restore, list, id, first } of cases) {
      const again = (): unknown => act(route, { ...restore, remark: 'by mistake' });
      expect(again).toThrow('was not taken back');
      act(route, { ...retire, remark: 'a slip' });
      again();
      expect(again).toThrow('says the same');
      const rows = list() as unknown as Record<string, unknown>[];
      expect(rows.map((r) => r['retired_remark'])).toEqual(['a slip', null]);
      expect(rows[1]).toEqual({ ...first, [id]: rows[1]?.[id], made_utc_us: rows[1]?.['made_utc_us'], author: 'tester', remark: rows[1]?.['remark'] });
      expect(rows[1]?.['remark']).toMatch(/^\d+ again: by mistake/);
    }
    expect(() => act('zeros', { does: 'restore', zero_id: 77, remark: '' })).toThrow('Zero 77 was never kept');
    expect((readRecord(desk, 'entered') as { history: { entered_id: number }[] }).history.map((e) => e.entered_id)).toEqual(told.entries(1).map((e) => e.entered_id));
    // The tests after this one have the bench to themselves.
    told.retireEntry(told.entries(1, 'heater_V').at(-1)?.entered_id ?? 0, 'a test');
  });

  it('add what is told by hand', () => {
    const add = (recipe: object): unknown => act('calibrations', { does: 'add', recipe, from: 'first' });
    const type = { type: '103 3950' };
    add({ channel: 'coolant_in', how: 'beta', ...type, R25_ohm: 10_000, beta_K: 3950, beta_to_C: 50 });
    add({ channel: 'hot', how: 'type_k', class: 1 });
    add({ channel: 'flow', how: 'bucket', runs: [{ grams: 500, seconds: 60, pulses: null, t_C: 20 }, { grams: 503, seconds: 60, pulses: null, t_C: 20 }], u_scale_share: 1e-3, u_grams: 0.5 });
    add({ channel: 'coolant_out', how: 'table', ...type, points: [[0, 32_650], [10, 19_900], [25, 10_000], [40, 5327], [60, 2488], [80, 1258]].map(([t_C, R_ohm]) => ({ t_C, R_ohm })), range_C: [0, 80] });
    expect(store.records.calibrations.at(1, 'hot', at(1, 0))?.model).toMatchObject({ kind: 'type_k', iec60584_class: 1 });
    expect(store.records.calibrations.at(1, 'flow', at(1, 0))?.model.kind).toBe('fixed');
    expect(() => add({ channel: 'flow', how: 'beta', ...type, R25_ohm: 1, beta_K: 1, beta_to_C: 50 })).toThrow('not for flow');
    expect(() => add({ channel: 'hot', how: 'magic' })).toThrow('how is magic');
    const shown = act('calibrations', { does: 'show', cal_id: store.records.calibrations.at(1, 'coolant_in', at(1, 0))?.cal_id }) as { at_end: { value: number; unit: string } };
    expect(shown.at_end.value).toBeCloseTo(100, 6);
  });

  it('tell the sheet: all of the values or none', () => {
    expect(() => act('sheet', { values: { cell_capacity_N: 19.6, supply_V: 99 } })).toThrow('supply_V is 99 V: it must be from 2.5 to 5.5 V');
    expect(() => act('sheet', { values: { cell_size: 1 } })).toThrow('The rig sheet has no cell_size');
    expect(store.records.told.sheetHistory(1)).toEqual([]);
    act('sheet', { values: { cell_capacity_N: 19.6, supply_V: 4.9 } });
    const { sheet } = readRecord(desk, 'sheet') as { sheet: { name: string; value: number; told: boolean }[] };
    expect(sheet.filter((l) => l.told).map((l) => [l.name, l.value])).toEqual([['cell_capacity_N', 19.6], ['supply_V', 4.9]]);
  });

  it('enter what other instruments say, with its place in the record, its preset doubt and its age', () => {
    clock.advance(100e6);
    act('entered', { entries: [{ name: 'heater_V', value: 12.1, u: 0.05, utc_us: begin_us + 40e6 }, { name: 'barometer_hPa', value: 1013 }] });
    const kept = store.records.told.entries(1, 'heater_V').filter((e) => e.retired_utc_us === null);
    expect(kept).toMatchObject([{ value: 12.1, u: 0.05, unit: 'V', boot_id: 1, tick: 40 * TICK_Hz }]);
    const lines = (): { name: string; value: number | null; u: number | null; warning: string | null }[] => (readRecord(desk, 'entered') as { entered: { name: string; value: number | null; u: number | null; warning: string | null }[] }).entered;
    expect(lines().find((l) => l.name === 'barometer_hPa')).toMatchObject({ value: 1013, warning: null });
    expect(lines().find((l) => l.name === 'barometer_hPa')?.u).toBeCloseTo(2 / Math.sqrt(3), 12);
    expect(() => act('entered', { entries: [{ name: 'heater_A', value: 3 }, { name: 'room_C', value: 300 }] })).toThrow('room_C is 300 C: it must be from -40 to 60 C');
    expect(() => act('entered', { entries: [{ name: 'mood', value: 3 }] })).toThrow('Nothing is entered under the name mood');
    expect(() => act('entered', { entries: [{ name: 'heater_A', value: 3, utc_us: clock.wall_us() + 3600e6 }] })).toThrow('in the past');
    expect(store.records.told.entries(1, 'heater_A')).toEqual([]);
    expect(ageWarning('heater_V', 0.9)).toBeNull();
    expect(ageWarning('heater_V', 2)).toContain('2.0 h old, 1 h is its limit');
    for (const name of enteredNames) expect(enteredValue(name, (enteredRows[name].least + enteredRows[name].most) / 2, null).u).toBeGreaterThan(0);
  });
});

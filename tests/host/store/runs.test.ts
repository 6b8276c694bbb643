import { afterAll, afterEach, beforeEach, describe, expect, it } from 'vitest';

import { toldRun } from '../../../host/serve/run_acts.js';
import { openStore } from '../../../host/store/open.js';
import type { Store } from '../../../host/store/store.js';
import { HandClock } from '../../support/hand_clock.js';
import { TICK_Hz, edge, force, helloOf, hot, mark, piece, scratch } from './support/board.js';
import { draft } from './support/kept.js';

const place = scratch();
afterAll(() => place.remove());
const begin_us = Date.UTC(2026, 0, 15, 9) * 1000;
const S = TICK_Hz;
let files = 0;

/** Rig 1: boot 1 from 9:00 to 9:20, boot 2 from 9:30 to 9:40; a force row every 10 s. */
function bench(): { store: Store; clock: HandClock; path: string } {
  const clock = new HandClock(begin_us);
  const path = place.path(`runs${files++}.db`);
  const store = openStore(path, { clock });
  for (const [boot_count, from_min, minutes] of [[1, 0, 20], [2, 30, 10]] as const) {
    const { boot_id } = store.bootFor({ hello: helloOf({ tick: 0, boot_count }), simulated: true, reset: true });
    store.writer.mapPiece(piece(boot_id, 0, begin_us + from_min * 60e6));
    for (let s = 0; s <= minutes * 60; s += 10) store.writer.message(force(boot_id, s * S));
  }
  store.writer.flush();
  return { store, clock, path };
}
const at = (minute: number): number => begin_us + minute * 60e6;

describe('a run', () => {
  let store: Store;
  beforeEach(() => {
    ({ store } = bench());
  });
  afterEach(() => void store.close());
  const keep = (from: number, to: number, name: string | null = null): ReturnType<Store['runs']['keep']> =>
    store.runs.keep({ rig_id: 1, name, spans: store.spansBetween(1, at(from), at(to)), author: 'a' });

  it('spans resets of the board, and never what is not recorded', () => {
    expect(store.spansBetween(1, at(18), at(33))).toEqual([
      { boot_id: 1, tick_from: 18 * 60 * S, tick_to: 20 * 60 * S },
      { boot_id: 2, tick_from: 0, tick_to: 3 * 60 * S },
    ]);
    expect(store.spansBetween(1, at(21), at(29))).toEqual([]);
    expect(store.spansBetween(1, at(41), at(50))).toEqual([]);
    expect(keep(18, 33)).toMatchObject({ from_utc_us: at(18), to_utc_us: at(33), recorded_s: 300, going_on: 0, simulated: 1 });
    expect(store.placeAtOrBefore(1, at(25))).toEqual({ boot_id: 1, tick: 20 * 60 * S + 1 });
    expect(store.placeAtOrBefore(1, at(-1))).toBeNull();
    expect(store.recordReach(1)).toEqual({ from_us: at(0), to_us: at(40) });
  });

  it('is named by date and number unless told, and found by name, number or last', () => {
    expect([keep(0, 1), keep(2, 3), keep(4, 5, 'warm up')].map((r) => r.name)).toEqual(['2026-01-15 1', '2026-01-15 2', 'warm up']);
    expect(store.runs.find('warm up').run_id).toBe(3);
    expect(store.runs.find('2').name).toBe('2026-01-15 2');
    expect(store.runs.find('last').run_id).toBe(3);
    expect(() => store.runs.find('cold')).toThrow('Run cold was never kept in this record: there is 1 to 3, the last is called warm up');
    for (const name of ['warm up', '17', 'last', ' ']) expect(() => keep(6, 7, name)).toThrow('nothing was kept');
  });

  it('is changed with every former state kept, back to the first', () => {
    const { run_id } = keep(0, 10, 'one');
    store.runs.change(run_id, 'name', 'b', () => ({ name: 'two', note: 'better name' }));
    store.runs.change(run_id, 'trimmed', 'b', () => ({ spans: store.spansBetween(1, at(1), at(9)) }));
    store.runs.change(run_id, 'excluded', 'b', () => ({ exclusions: [{ exclusion: 1, boot_id: 1, tick_from: 120 * S, tick_to: 180 * S, reason: 'tap' }, { exclusion: 2, boot_id: 1, tick_from: 150 * S, tick_to: 200 * S, reason: 'again' }] }));
    expect(store.runs.change(run_id, 'archived', 'b', () => ({ archived: true }))).toMatchObject({ name: 'two', archived: 1, recorded_s: 480, excluded_s: 80 });
    expect(store.runs.undo(run_id, 'c')).toMatchObject({ took_back: 'archived', run: { archived: 0, excluded_s: 80 } });
    expect(store.runs.undo(run_id, 'c')).toMatchObject({ took_back: 'excluded', run: { excluded_s: 0 } });
    expect(store.runs.undo(run_id, 'c')).toMatchObject({ took_back: 'trimmed', run: { recorded_s: 600, name: 'two' } });
    expect(store.runs.undo(run_id, 'c').run).toMatchObject({ name: 'one', note: '' });
    expect(() => store.runs.undo(run_id, 'c')).toThrow('no change that could be taken back');
    expect(store.runs.history(run_id).map((h) => `${h.author} ${h.did}`)).toEqual(['b name', 'b trimmed', 'b excluded', 'b archived', 'c took back: archived', 'c took back: excluded', 'c took back: trimmed', 'c took back: name']);
  });

  it('says what it lacks for being verified as long as it does', () => {
    const { run_id } = keep(2, 10);
    expect(store.runs.get(run_id)).toMatchObject({ verified: 0, why: 'no_calibration', zeros_enclose: 0, check_passed: null });
    const told = (): unknown[] => {
      const { verified, why, lacks } = toldRun(store.runs.get(run_id));
      return [verified, why, lacks];
    };
    const check = 'a check mass within 24 h';
    expect(told()).toEqual([0, 'no_calibration', ['a calibration of the load cell', 'a zero before and after', check]]);
    store.records.calibrations.keep(draft({ from: { boot_id: 1, tick: 0 } }));
    const reading = (second: number): { rig_id: number; boot_id: number; tick: number; tick_from: number; tick_to: number; count: number; u_count: number; n: number; author: string; remark: string } =>
      ({ rig_id: 1, boot_id: 1, tick: second * S, tick_from: second * S, tick_to: second * S + 1, count: 8000, u_count: 1, n: 80, author: 'a', remark: '' });
    store.records.zeros.keep(reading(60));
    expect(told()).toEqual([0, 'no_zero_after', ['a zero before and after', check]]);
    store.records.zeros.keep(reading(700));
    expect(told()).toEqual([0, 'no_check_mass', [check]]);
    const hung = (passed: boolean): number => store.records.zeros.keepCheck({ ...reading(800), nominal_kg: 0.1, cal_id: 1, expected: 0.06, read: passed ? 0.06 : 0.07, unit: 'Nm', passed }).check_id;
    hung(true);
    expect(told()).toEqual([1, null, []]);
    const failed = hung(false);
    expect(told()).toEqual([0, 'check_failed', ['a check mass that passed']]);
    store.records.zeros.retireCheck(failed, 'the wrong mass');
    expect(told()).toEqual([1, null, []]);
  });
});

describe('marks', () => {
  it('are dated when they were, lie in runs, and get words later when the button made them', () => {
    const { store } = bench();
    store.writer.message(mark(1, 300 * S));
    store.writer.message(mark(1, 400 * S));
    store.writer.flush();
    const { run_id } = store.runs.keep({ rig_id: 1, name: null, spans: store.spansBetween(1, at(4), at(33)), author: 'a' });
    expect(store.marks.keep({ rig_id: 1, utc_us: at(32), text: 'bled jacket', source: 'command', author: 'a' })).toMatchObject({ boot_id: 2, tick: 120 * S, utc_us: at(32) });
    expect(store.marks.keep({ rig_id: 1, utc_us: at(25), text: 'reset the board', source: 'page', author: 'a' })).toMatchObject({ boot_id: null, tick: null, utc_us: at(25) });
    expect(store.marks.lastPress()).toEqual({ boot_id: 1, tick: 400 * S });
    const named = store.marks.name({ boot_id: 1, tick: 400 * S }, 'flame up', 'a');
    expect(named).toMatchObject({ mark_id: 3, source: 'button', utc_us: at(0) + 400e6 });
    expect(store.marks.name({ boot_id: 1, tick: 400 * S }, 'flame down', 'a')).toMatchObject({ mark_id: 3, text: 'flame down' });
    expect(store.marks.lastPress()).toEqual({ boot_id: 1, tick: 300 * S });
    expect(() => store.marks.name({ boot_id: 1, tick: 7 }, 'x', 'a')).toThrow('A press of the button at 1/7 was never kept');
    expect(store.marks.change(3, 'time', 'b', { utc_us: at(7) })).toMatchObject({ tick: 420 * S, pressed_tick: 400 * S });
    expect(store.marks.undo(3, 'b').mark.tick).toBe(400 * S);
    expect(store.marks.undo(3, 'b').mark.text).toBe('flame up');
    expect(store.marks.list(run_id).map((m) => [m.mark_id, m.text])).toEqual([[null, ''], [3, 'flame up'], [1, 'bled jacket']]);
    store.close();
  });
});

describe('the engine', () => {
  it('is a build from a place on, its pieces count what they have been through, each row gone through once', () => {
    const { store } = bench();
    // 10 turns a second for the first 15 min of boot 1 and all of boot 2; hot once, to 200 C and back to 60 C.
    const word = (c: number): number => (((c * 4) << 18) | ((25 * 16) << 4)) >>> 0;
    for (let n = 0; n < 9000; n++) store.writer.message(edge(1, n * (S / 10)));
    for (let n = 0; n < 6000; n++) store.writer.message(edge(2, n * (S / 10)));
    for (const [s, c] of [[10, 25], [100, 200], [640, 120], [650, 160], [700, 60]] as const) store.writer.message(hot(1, s * S, word(c)));
    store.writer.flush();
    const first = store.builds.add('B1', null, '', 'a');
    const piece1 = store.builds.setPart(first.build_id, 'displacer', { material: 'balsa', mass_g: 3.1 }, 'a');
    store.builds.setPart(first.build_id, 'piston', { material: 'graphite' }, 'a');
    const second = store.builds.add('B2', first.build_id, '', 'a');
    expect(store.builds.setPart(second.build_id, 'piston', { note: 'polished' }, 'a').part_id).toBe(2);
    expect(store.builds.setPart(second.build_id, 'displacer', { material: 'foam', mass_g: 2.2 }, 'a').part_id).toBe(3);
    expect(store.builds.setPart(second.build_id, 'displacer', { mass_g: 2.3 }, 'a').part_id).toBe(3);
    expect(store.builds.parts(first.build_id).find((p) => p.name === 'displacer')).toEqual(piece1);
    expect(store.builds.current()).toBeNull();
    store.builds.use(first.build_id, null, 'a', '');
    const use = store.builds.use(second.build_id, { boot_id: 1, tick: 300 * S }, 'a', '');
    const counters = (): Record<number, number[]> => {
      for (let n = 0; !store.wear.count(100, true); n++) expect(n).toBeLessThan(5);
      store.wear.sum();
      return Object.fromEntries(store.builds.counters().map((c) => [c.part_id, [Math.round(c.revolutions), Math.round(c.turning_h * 3600), c.heat_cycles]]));
    };
    expect(counters()).toEqual({ 1: [3000, 300, 0], 2: [15_000, 1500, 1], 3: [12_000, 1200, 1] });
    // Found later: a run from 9:08 to 9:10 was still on the first.
    store.runs.keep({ rig_id: 1, name: 'back', build_id: first.build_id, spans: store.spansBetween(1, at(8), at(10)), author: 'a' });
    expect(counters()).toEqual({ 1: [4201, 420, 0], 2: [15_000, 1500, 1], 3: [10_799, 1080, 1] });
    store.builds.retireUse(use.use_id, 'misread');
    expect(store.builds.current()?.name).toBe('B1');
    expect(counters()).toEqual({ 1: [15_000, 1500, 1], 2: [15_000, 1500, 1], 3: [0, 0, 0] });
    expect(store.runs.keep({ rig_id: 1, name: 'on', spans: store.spansBetween(1, at(11), at(12)), author: 'a' }).build).toBe('B1');
    store.close();
  });
});

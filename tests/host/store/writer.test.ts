import Database from 'better-sqlite3';
import { afterAll, describe, expect, it } from 'vitest';

import { openStore } from '../../../host/store/open.js';
import type { StoreOptions } from '../../../host/store/open.js';
import type { RecordState } from '../../../host/store/writer_terms.js';
import { HandClock } from '../../support/hand_clock.js';
import { TICK_Hz, edge, force, gap, helloOf, piece, scratch, status } from './support/board.js';

const place = scratch();
afterAll(() => place.remove());
let files = 0;

function bench(options: Partial<StoreOptions> = {}) {
  const clock = new HandClock();
  const path = place.path(`${files++}.db`);
  const batches: number[] = [];
  const states: RecordState['state'][] = [];
  const store = openStore(path, {
    clock,
    onCommitted: (b) => batches.push(Object.values(b.rows).reduce((a, n) => a + n, 0)),
    onState: (s) => states.push(s.state),
    ...options,
  });
  const { boot_id } = store.bootFor({ hello: helloOf(), simulated: false });
  const other = new Database(path);
  const count = (table = 'force_raw') => (other.prepare(`SELECT count(*) AS n FROM ${table}`).get() as { n: number }).n;
  return { clock, store, boot_id, batches, states, other, count, end: () => (other.close(), store.close()) };
}

describe('batches', () => {
  it('commit together, not before 250 ms and not after, and are told of once they are there', () => {
    const { clock, store, boot_id, batches, count, end } = bench();
    for (let i = 1; i <= 40; i++) {
      store.writer.message(force(boot_id, i * 25_000));
      clock.advance(5000);
    }
    expect([count(), batches]).toEqual([0, []]);
    clock.advance(50_000);
    expect([count(), batches]).toEqual([40, [40]]);
    clock.advance(10e6);
    expect(batches).toEqual([40]);
    end();
  });

  it('do not wait for the timer when rows come faster than it', () => {
    const { store, boot_id, batches, count, end } = bench({ limits: { batchRows: 500 } });
    for (let i = 1; i <= 1750; i++) store.writer.message(force(boot_id, i));
    expect([count(), batches, store.writer.state.waiting_rows]).toEqual([1500, [500, 500, 500], 250]);
    end();
  });

  it('are finished by close, which brings the log home and stops every timer', () => {
    const { clock, store, boot_id, other, end } = bench();
    store.writer.message(force(boot_id, 1));
    other.close();
    expect(store.close()).toEqual({ left_rows: 0, checkpointed: true });
    expect(clock.timers).toBe(0);
    expect(store.bytes.log).toBe(0);
    store.writer.message(force(boot_id, 2));
    expect([store.writer.state.state, store.writer.state.waiting_rows]).toEqual(['closed', 0]);
    end();
  });

  it('say so when a reader keeps the log from coming home', () => {
    const { store, boot_id, other } = bench();
    other.exec('BEGIN');
    other.prepare('SELECT count(*) FROM force_raw').get();
    store.writer.message(force(boot_id, 1));
    expect(store.close()).toEqual({ left_rows: 0, checkpointed: false });
    other.close();
  });
});

describe('a file that cannot be written', () => {
  it('for another program\'s lock: rows wait, then all are there', () => {
    const { clock, store, boot_id, states, other, count, end } = bench();
    other.exec('BEGIN IMMEDIATE');
    store.writer.message(force(boot_id, 1));
    clock.advance(260_000);
    expect(store.writer.state).toMatchObject({ state: 'held', waiting_rows: 1 });
    expect(store.writer.state.reason).toMatch(/database is locked.*end it there/);
    // A boot that begins meanwhile is issued all the same, and is there before its rows.
    const next = store.bootFor({ hello: helloOf({ boot_count: 8 }), simulated: false });
    expect(next.boot_id).toBe(boot_id + 1);
    expect(store.bootFor({ hello: helloOf({ boot_count: 8, tick: 30_000 }), simulated: false }).boot_id).toBe(next.boot_id);
    store.writer.message(force(next.boot_id, 5));
    // So do a board that was never seen, and what is told of it.
    store.bootFor({ hello: helloOf({ board_id: 9 }), simulated: false });
    for (const board_id of [9, 0x00c0ffee]) store.setMagnets(board_id, 4);
    expect([store.magnets(9), store.magnets(0x00c0ffee), store.magnets(77)]).toEqual([4, 4, 1]);
    other.exec('COMMIT');
    clock.advance(2e6);
    expect(count()).toBe(2);
    expect(other.prepare('SELECT magnets FROM rig').pluck().all()).toEqual([4, 4]);
    expect(states).toEqual(['recording', 'held', 'recording']);
    expect(store.writer.totals.refused).toBe(0);
    end();
  });

  it('for too long: the newest rows are kept, what went is counted and becomes a gap', () => {
    const { clock, store, boot_id, other, count, end } = bench({ limits: { queueRows: 100 } });
    other.exec('BEGIN IMMEDIATE');
    for (let i = 1; i <= 130; i++) store.writer.message(force(boot_id, i));
    clock.advance(260_000);
    expect(store.writer.state).toMatchObject({ state: 'held', waiting_rows: 100, lost_rows: 30 });
    other.exec('COMMIT');
    clock.advance(2e6);
    expect(count()).toBe(100);
    expect(other.prepare('SELECT stream, cause, tick_from, tick_to, lost FROM gap').all()).toEqual([
      { stream: 'force', cause: 'queue', tick_from: 1, tick_to: 30, lost: 30 },
    ]);
    end();
  });

  it('because the reserve of the disk is reached: it stops in time, and closing may use the reserve', () => {
    let free = 1e9;
    const { clock, store, boot_id, states, other, count } = bench({ freeBytes: () => free });
    free = 100e6;
    clock.advance(5e6);
    store.writer.message(force(boot_id, 1));
    clock.advance(1e6);
    free = 10e6;
    clock.advance(5e6);
    store.writer.message(force(boot_id, 2));
    clock.advance(3e6);
    expect([count(), store.writer.state.state]).toEqual([1, 'held']);
    expect(store.writer.state.reason).toContain('10.0 MB are free');
    free = 1e9;
    clock.advance(1e6);
    expect(count()).toBe(2);
    free = 10e6;
    clock.advance(6e6);
    store.writer.message(force(boot_id, 3));
    clock.advance(1e6);
    expect(count()).toBe(2);
    other.close();
    expect(store.close().left_rows).toBe(0);
    expect(states).toEqual(['recording', 'low', 'held', 'recording', 'low', 'held', 'low', 'closed']);
  });
});

describe('the record', () => {
  it('neither loses nor reorders a row when the wall clock is stepped', () => {
    const { clock, store, boot_id, other, end } = bench();
    const steps_us = [0, -3600e6, 86_400e6, -1e6];
    let tick = 0;
    for (const step_us of steps_us) {
      clock.stepWall(step_us);
      store.writer.mapPiece(piece(boot_id, tick + 1, clock.wall_us()));
      for (let i = 0; i < 50; i++) {
        tick += 25_000;
        store.writer.message(force(boot_id, tick, tick));
        clock.advance(12_500);
      }
    }
    clock.advance(1e6);
    const rows = other.prepare('SELECT tick, count, utc_us FROM force ORDER BY boot_id, tick').all() as { tick: number; count: number; utc_us: number }[];
    expect(rows.map((r) => r.count)).toEqual(Array.from({ length: 200 }, (_, i) => (i + 1) * 25_000));
    expect(rows.filter((r, i) => i > 0 && r.utc_us < (rows[i - 1]?.utc_us ?? 0))).toHaveLength(2);
    end();
  });

  it('is read back by range, counted by stream, and knows what it lost', () => {
    const { clock, store, boot_id, end } = bench();
    const start_us = clock.wall_us();
    store.writer.mapPiece(piece(boot_id, 0, start_us));
    for (let s = 0; s < 30; s++) {
      store.writer.message(force(boot_id, s * TICK_Hz, s, s === 29 ? 2 : 0));
      store.writer.message(edge(boot_id, s * TICK_Hz + 1000));
    }
    store.writer.message(status(boot_id, 29 * TICK_Hz, { edges_lost: 3 }));
    store.writer.gap(gap(boot_id, 'force', 5, 9, 2));
    clock.advance(250_000);
    expect(store.read.lastForce(4).map((r) => r.tick / TICK_Hz)).toEqual([26, 27, 28, 29]);
    const { force: f, speed, status: s } = store.read.latest();
    expect(f).toEqual({ utc_us: start_us + 29e6, boot_id, tick: 29 * TICK_Hz, count: null, flags: 2 });
    expect(speed).toMatchObject({ period_s: 1, speed_rpm: 60 });
    expect(s).toMatchObject({ edges_lost: 3, loop_max_us: 200 });
    expect(store.read.counts()).toMatchObject({ force: { rows: 30, duplicates: 0 }, edge: { rows: 30, duplicates: 0 }, status: { rows: 1, duplicates: 0 } });
    expect(store.read.lost()).toEqual({ force: 2 });
    end();
  });
});

import { execFileSync } from 'node:child_process';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

import { openStore } from '../../../host/store/open.js';
import type { Store } from '../../../host/store/store.js';
import { HandClock } from '../../support/hand_clock.js';
import { needTool } from '../../support/need.js';
import { TICK_Hz, edge, force, gap, helloOf, piece, scratch, status } from './support/board.js';

const place = scratch();
const path = place.path('views.db');
const there = needTool('sqlite3', 'sqlite3', 'views read by plain sqlite3');

/** What plain sqlite3 says, while this process goes on writing. */
function ask<Row = Record<string, unknown>>(sql: string, file = path): Row[] {
  const out = execFileSync('sqlite3', ['-readonly', '-json', file, sql], { encoding: 'utf8' });
  return out.trim() === '' ? [] : (JSON.parse(out) as Row[]);
}

describe.skipIf(!there)('plain sqlite3, while recording goes on', () => {
  const clock = new HandClock(Date.UTC(2026, 0, 15, 9) * 1000);
  const start_us = clock.wall_us();
  let store: Store;
  let boot_id: number;

  beforeAll(() => {
    store = openStore(path, { clock });
    boot_id = store.bootFor({ hello: helloOf({ tick: 0 }), simulated: true }).boot_id;
    // The board's clock runs 100 ppm slow from 10 s on.
    store.writer.mapPiece(piece(boot_id, TICK_Hz, start_us + 1e6, 0.5));
    store.writer.mapPiece(piece(boot_id, 10 * TICK_Hz, start_us + 10e6 + 250, 0.50005));
  });
  afterAll(() => {
    store.close();
    place.remove();
  });
  const commit = (): void => clock.advance(250_000);

  it('dates a row by the last piece at or before it, and rows from before the first piece by the first', () => {
    for (const s of [0, 1, 9.5, 10, 30]) store.writer.message(force(boot_id, s * TICK_Hz, s * 10));
    commit();
    expect(ask('SELECT tick, utc_us, t, count, flags, simulated FROM force ORDER BY boot_id, tick')).toEqual([
      { tick: 0, utc_us: start_us, t: '2026-01-15T09:00:00.000Z', count: 0, flags: 0, simulated: 1 },
      { tick: TICK_Hz, utc_us: start_us + 1e6, t: '2026-01-15T09:00:01.000Z', count: 10, flags: 0, simulated: 1 },
      { tick: 9.5 * TICK_Hz, utc_us: start_us + 9.5e6, t: '2026-01-15T09:00:09.500Z', count: 95, flags: 0, simulated: 1 },
      { tick: 10 * TICK_Hz, utc_us: start_us + 10e6 + 250, t: '2026-01-15T09:00:10.000Z', count: 100, flags: 0, simulated: 1 },
      { tick: 30 * TICK_Hz, utc_us: start_us + 30e6 + 2250, t: '2026-01-15T09:00:30.002Z', count: 300, flags: 0, simulated: 1 },
    ]);
  });

  it('shows a flagged count as not measured, and the raw one still', () => {
    store.writer.message(force(boot_id, 31 * TICK_Hz, -8388608, 4));
    commit();
    expect(ask('SELECT count, flags FROM force ORDER BY tick DESC LIMIT 1')).toEqual([{ count: null, flags: 4 }]);
    expect(ask('SELECT count FROM force_raw ORDER BY tick DESC LIMIT 1')).toEqual([{ count: -8388608 }]);
  });

  it('gives period and speed by the corrected clock, over whole revolutions, and none across a loss', () => {
    // Four magnets, badly spaced: 0.1, 0.2, 0.3 and 0.4 s of a 1 s revolution, by ticks.
    const sectors = [0.1, 0.2, 0.3, 0.4];
    let tick = 20 * TICK_Hz;
    const ticks: number[] = [];
    for (let i = 0; i < 12; i++) {
      ticks.push(tick);
      store.writer.message(edge(boot_id, tick));
      tick += Math.round((sectors[i % 4] ?? 0) * TICK_Hz);
    }
    store.writer.gap(gap(boot_id, 'edge', ticks[7] ?? 0, ticks[8] ?? 0, 3));
    commit();
    const periods = ask<{ period_s: number | null }>('SELECT period_s FROM edge ORDER BY tick').map((r) => r.period_s);
    expect(periods.map((p) => (p === null ? null : Math.round(p * 1e6)))).toEqual(
      [null, 100010, 200020, 300030, 400040, 100010, 200020, 300030, null, 100010, 200020, 300030],
    );
    store.setMagnets(0x00c0ffee, 4);
    const speeds = ask<{ speed_rpm: number | null; period_s: number | null }>('SELECT speed_rpm, period_s FROM speed ORDER BY tick');
    expect(speeds.map((r) => (r.speed_rpm === null ? null : r.speed_rpm.toFixed(3)))).toEqual(
      [null, null, null, null, '59.994', '59.994', '59.994', '59.994', null, null, null, null],
    );
    expect(speeds[4]?.period_s).toBeCloseTo(1.0001, 9);
  });

  it('tells of boots, of the board itself and of what is missing', () => {
    store.writer.message(status(boot_id, 32 * TICK_Hz, { rx_framings: 2 }));
    store.writer.gap(gap(boot_id, 'force', 12 * TICK_Hz, 13 * TICK_Hz, 79));
    commit();
    expect(ask('SELECT boot_id, board, board_boot, started, simulated, firmware, reset_cause, magnets, force_rows, edge_rows, recorded_s, lost FROM boots')).toEqual([
      {
        boot_id, board: '00C0-FFEE', board_boot: 7, started: '2026-01-15T09:00:00.000Z', simulated: 1, firmware: '0.1.0', reset_cause: 'external',
        magnets: 4, force_rows: 6, edge_rows: 12, recorded_s: 32, lost: 82,
      },
    ]);
    expect(ask('SELECT t, rx_framings, edges_lost, round(loop_max_us, 3) AS loop_max_us, simulated FROM board_status')).toEqual([
      { t: '2026-01-15T09:00:32.002Z', rx_framings: 2, edges_lost: 0, loop_max_us: 200.02, simulated: 1 },
    ]);
    expect(ask("SELECT t, stream, cause, round(duration_s, 6) AS duration_s, lost FROM gaps WHERE stream = 'force'")).toEqual([
      { t: '2026-01-15T09:00:12.000Z', stream: 'force', cause: 'sequence', duration_s: 1.0001, lost: 79 },
    ]);
  });

  it('documents every view in its own definition, with units in its column names', () => {
    const views = ask<{ name: string; sql: string }>("SELECT name, sql FROM sqlite_schema WHERE type = 'view'");
    expect(views.map((v) => v.name).sort()).toEqual([
      'alarms', 'board_status', 'boots', 'build_changes', 'build_parts', 'builds', 'calibration_in_force', 'calibrations', 'checks', 'coolant', 'coolant_flow',
      'curves', 'edge', 'entered_now', 'flow', 'force', 'gaps', 'heat', 'hot', 'hot_end', 'mark', 'marks', 'part_counters', 'points', 'points_taken', 'power',
      'results', 'run_exclusions', 'run_marks', 'runs', 'setting', 'speed', 'torque', 'trials', 'verdicts', 'water', 'zeros',
    ]);
    for (const { sql } of views) expect(sql).toMatch(/AS\n-- .{30,}/);
  });

  it('reads a range out of an hour of edges in key order, without walking the boot or sorting', () => {
    for (const view of ['force', 'edge', 'speed', 'board_status', 'hot', 'water', 'flow', 'mark', 'setting']) {
      const range = `SELECT * FROM ${view} WHERE boot_id = 1 AND tick >= 5 AND tick < 9 ORDER BY tick`;
      const details = execFileSync('sqlite3', ['-readonly', path, `EXPLAIN QUERY PLAN ${range}`], { encoding: 'utf8' });
      expect(details).not.toMatch(/SCAN (?!back|CONSTANT)|TEMP B-TREE|MATERIALIZE/);
      expect(details).toMatch(/SEARCH \w USING PRIMARY KEY \(boot_id=\? AND tick>\? AND tick<\?\)/);
    }
  });
});

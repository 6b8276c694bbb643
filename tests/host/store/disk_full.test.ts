import Database from 'better-sqlite3';
import { execFileSync } from 'node:child_process';
import { mkdirSync, rmSync, writeFileSync } from 'node:fs';
import { afterAll, expect, it } from 'vitest';

import { openStore } from '../../../host/store/open.js';
import type { RecordState } from '../../../host/store/writer_terms.js';
import { HandClock } from '../../support/hand_clock.js';
import { noteSkip } from '../../support/need.js';
import { force, helloOf, scratch } from './support/board.js';

const root = process.getuid?.() === 0;
if (!root) noteSkip('a record on a full disk', 'run the tests as root');

const place = scratch();
afterAll(() => place.remove());

it.skipIf(!root)('a full disk: measuring goes on, rows wait in memory, and all is written once there is room', () => {
  const disk = place.path('disk');
  mkdirSync(disk);
  execFileSync('mount', ['-t', 'tmpfs', '-o', 'size=2m', 'tmpfs', disk]);
  try {
    const clock = new HandClock();
    const states: RecordState[] = [];
    const store = openStore(`${disk}/bench.db`, {
      clock,
      // No reserve: the disk itself is to say that it is full.
      limits: { spaceReserve_bytes: 0, spaceLow_bytes: 0 },
      onState: (s) => states.push(s),
    });
    const { boot_id } = store.bootFor({ hello: helloOf(), simulated: false });
    writeFileSync(`${disk}/filler`, Buffer.alloc(1_200_000));
    let n = 0;
    const second = (boot: number): void => {
      for (let i = 0; i < 500; i++) store.writer.message(force(boot, ++n, n));
      clock.advance(1e6);
    };
    while (store.writer.state.state !== 'held' && n < 200_000) second(boot_id);
    expect(store.writer.state.reason).toMatch(/full.*Free some space/);
    expect(store.writer.totals.failures).toBeGreaterThan(0);

    // The board is reset in the middle of it: the bench goes on live.
    const next = store.bootFor({ hello: helloOf({ boot_count: 8 }), simulated: false });
    for (let i = 0; i < 10; i++) second(next.boot_id);
    expect(store.writer.state).toMatchObject({ state: 'held', lost_rows: 0 });
    expect(store.writer.state.waiting_rows).toBeGreaterThan(5000);
    expect(store.read.counts().force.rows + store.writer.state.waiting_rows).toBe(n);

    rmSync(`${disk}/filler`);
    clock.advance(3e6);
    expect(states.map((s) => s.state)).toEqual(['recording', 'held', 'recording']);
    expect(store.read.counts().force.rows).toBe(n);
    expect(store.close()).toEqual({ left_rows: 0, checkpointed: true });

    const db = new Database(`${disk}/bench.db`, { readonly: true });
    expect(db.pragma('integrity_check', { simple: true })).toBe('ok');
    expect(db.prepare('SELECT count(*) AS n, max(count) AS last FROM force_raw').get()).toEqual({ n, last: n });
    expect(db.prepare('SELECT count(*) AS n FROM gap').get()).toEqual({ n: 0 });
    db.close();
  } finally {
    execFileSync('umount', ['-l', disk]);
  }
});

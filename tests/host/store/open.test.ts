import Database from 'better-sqlite3';
import { execFileSync, spawn, spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { once } from 'node:events';
import { existsSync, mkdirSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs';
import { afterAll, describe, expect, it, vi } from 'vitest';

import { migrate } from '../../../host/store/migrate.js';
import { SCHEMA_VERSION, migrations } from '../../../host/store/migrations/index.js';
import { openStore } from '../../../host/store/open.js';
import { APPLICATION_ID, setPragmas } from '../../../host/store/pragmas.js';
import { storedStreams } from '../../../host/store/row_inserts.js';
import { messages } from '../../../protocol/messages.js';
import { HandClock } from '../../support/hand_clock.js';
import { noteSkip } from '../../support/need.js';
import { edge, flow, force, helloOf, hot, mark, scratch, setting, status, water } from './support/board.js';

const place = scratch();
afterAll(() => place.remove());
const open = (name: string, simulated?: boolean) =>
  openStore(place.path(name), { clock: new HandClock(), ...(simulated === undefined ? {} : { simulated }) });
const codeOf = (action: () => unknown): string => {
  try {
    action();
  } catch (thrown) {
    return (thrown as { code: string }).code;
  }
  return 'nothing thrown';
};

describe('a record file', () => {
  it('is made with its folder, marked as ours, and opens again', () => {
    open('new folder/ä b.db').close();
    const db = new Database(place.path('new folder/ä b.db'), { readonly: true });
    expect(db.pragma('application_id', { simple: true })).toBe(APPLICATION_ID);
    expect(db.pragma('user_version', { simple: true })).toBe(SCHEMA_VERSION);
    expect(db.pragma('auto_vacuum', { simple: true })).toBe(2);
    expect(db.pragma('journal_mode', { simple: true })).toBe('wal');
    db.close();
    open('new folder/ä b.db').close();
  });

  it('has its settings read back, and is refused where SQLite did not take one', () => {
    const db = new Database(place.path('pragmas.db'));
    setPragmas(db, 'x');
    for (const [pragma, value] of [['synchronous', 1], ['busy_timeout', 100], ['foreign_keys', 1], ['temp_store', 2], ['journal_size_limit', 4194304]] as const) {
      expect(db.pragma(pragma, { simple: true })).toBe(value);
    }
    db.close();
    // WAL cannot be had in memory: SQLite says so by the value alone.
    expect(codeOf(() => setPragmas(new Database(':memory:'), 'memory'))).toBe('FILE_UNFIT');
  });

  it('of another program, or none at all, is refused and left as it was', () => {
    writeFileSync(place.path('letter.txt'), 'Dear workshop, this is a letter and no database at all. '.repeat(20));
    expect(codeOf(() => open('letter.txt'))).toBe('FILE_NOT_OURS');
    const other = new Database(place.path('other.db'));
    other.exec('CREATE TABLE recipes(x)');
    other.close();
    const before = readFileSync(place.path('other.db'));
    expect(codeOf(() => open('other.db'))).toBe('FILE_NOT_OURS');
    expect(readFileSync(place.path('other.db')).equals(before)).toBe(true);
    expect(existsSync(place.path('other.db.lock'))).toBe(false);
  });

  it('of a newer program is refused', () => {
    open('newer.db').close();
    const db = new Database(place.path('newer.db'));
    db.pragma(`user_version = ${SCHEMA_VERSION + 1}`);
    db.close();
    expect(() => open('newer.db')).toThrow(`schema ${SCHEMA_VERSION + 1}`);
  });

  it('that is cut short is called damaged', () => {
    const store = open('cut.db');
    store.bootFor({ hello: helloOf(), simulated: false });
    store.close();
    const whole = readFileSync(place.path('cut.db'));
    whole.fill(0x5a, 100, 4096);
    writeFileSync(place.path('cut.db'), whole);
    expect(codeOf(() => open('cut.db'))).toBe('FILE_DAMAGED');
  });

  it('is not shared with a second daemon, by whatever name, nor kept by a dead one', async () => {
    const store = open('shared.db');
    symlinkSync(place.path('shared.db'), place.path('alias.db'));
    expect(codeOf(() => open('shared.db'))).toBe('FILE_IN_USE');
    expect(() => open('alias.db')).toThrow(`process ${process.pid}`);
    store.close();
    const dead = spawnSync(process.execPath, ['-e', '']).pid;
    // One that ended while its parent, turned into sleep, never asks for it.
    const parent = spawn('sh', ['-c', 'sleep 0.3 & echo $!; exec sleep 20'], { stdio: ['ignore', 'pipe', 'ignore'] });
    const zombie = Number(String(await once(parent.stdout, 'data')));
    await vi.waitFor(() => expect(readFileSync(`/proc/${zombie}/stat`, 'latin1')).toContain(') Z '), { timeout: 5000 });
    const started = readFileSync(`/proc/${zombie}/stat`, 'latin1').split(') ')[1]?.split(' ')[19] ?? '';
    const machine = readFileSync('/proc/sys/kernel/random/boot_id', 'latin1').trim();
    for (const holder of [{ pid: dead, began: '' }, { pid: zombie, began: `${machine}:${started}` }]) {
      writeFileSync(place.path('shared.db.lock'), JSON.stringify(holder));
      open('shared.db').close();
    }
    parent.kill();
    expect(existsSync(place.path('shared.db.lock'))).toBe(false);
  });

  it('that holds a real rig takes no twin, and the other way round', () => {
    const real = open('real.db', false);
    expect(real.origin).toBe('empty');
    real.bootFor({ hello: helloOf(), simulated: false });
    expect(codeOf(() => real.bootFor({ hello: helloOf({ boot_count: 8 }), simulated: true }))).toBe('FILE_IS_REAL');
    real.close();
    expect(codeOf(() => open('real.db', true))).toBe('FILE_IS_REAL');
    open('real.db', false).close();
    const twin = open('twin.db', true);
    twin.bootFor({ hello: helloOf(), simulated: true });
    twin.close();
    expect(codeOf(() => open('twin.db', false))).toBe('FILE_IS_SIMULATED');
    const raw = new Database(place.path('twin.db'));
    const insert = `INSERT INTO boot SELECT 99, rig_id, board_id, 9, 0, schema_hash, firmware, clock_Hz, cycles_per_tick, 0, 0, 0 FROM boot`;
    expect(() => raw.exec(insert)).toThrow('do not share');
    raw.close();
  });

  const root = process.getuid?.() === 0;
  if (!root) noteSkip('a record on a read-only disk', 'run the tests as root');
  it.skipIf(!root)('on a read-only disk is refused by name', () => {
    const disk = place.path('readonly');
    mkdirSync(disk);
    execFileSync('mount', ['-t', 'tmpfs', '-o', 'size=2m', 'tmpfs', disk]);
    try {
      open('readonly/a.db').close();
      execFileSync('mount', ['-o', 'remount,ro', disk]);
      expect(codeOf(() => open('readonly/a.db'))).toBe('FILE_READ_ONLY');
    } finally {
      execFileSync('umount', ['-l', disk]);
    }
  });
});

describe('the schema', () => {
  it('is numbered without a hole', () => {
    expect(migrations.map((m) => m.number)).toEqual(migrations.map((_, i) => i + 1));
  });

  it('keeps what has landed as it was: a later change is a later migration', () => {
    const hashes = migrations.map((m) => createHash('sha256').update(m.sql).digest('hex').slice(0, 16));
    expect(hashes.slice(0, 2)).toEqual(['94550fa6b34e6b30', '9d151ed2994e12c0']);
  });

  it.each([1, 2, 4])('brings a file of version %i forward, row by row as it was, and records on in it', (version) => {
    const path = place.path(`old${version}.db`);
    const db = new Database(path);
    db.pragma('journal_mode = WAL');
    migrate(db, version);
    expect(db.pragma('user_version', { simple: true })).toBe(version);
    db.exec(`INSERT INTO origin VALUES (1, 1, 0); INSERT INTO rig(board_id, magnets, first_seen_utc_us) VALUES (5, 2, 0);
      INSERT INTO boot VALUES (3, 1, 5, 1, 1, 0, 256, 16000000, 8, 130, 0, 0);
      INSERT INTO clock_map VALUES (3, 0, 1768467600000000, 0.5, 100);
      INSERT INTO force_raw VALUES (3, 2000000, 42, 0), (3, 2025000, -7, 4);
      INSERT INTO edge_raw VALUES (3, 1000, 0), (3, 101000, 0), (3, 201000, 0);
      INSERT INTO status_raw VALUES (3, 2000000, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 400, 900, 0);
      INSERT INTO gap VALUES (3, 'force', 5, 'sequence', 9, 2);
      INSERT INTO tally VALUES (3, 'force', 2, 1, 2025000), (3, 'edge', 3, 0, 201000), (3, 'status', 1, 0, 2000000)`);
    const tables = ['origin', 'rig', 'boot', 'clock_map', 'force_raw', 'edge_raw', 'status_raw', 'gap', 'tally'];
    // A column that a later schema has is empty for rows from before it.
    const dump = (from: Database.Database): unknown => tables.map((t) => from.prepare<[], Record<string, unknown>>(`SELECT * FROM ${t}`).all().map(({ u_ppm = null, ...row }) => ({ ...row, u_ppm })));
    const before = dump(db);
    db.close();

    const clock = new HandClock();
    const store = openStore(path, { clock });
    const now = new Database(path);
    expect(now.pragma('user_version', { simple: true })).toBe(SCHEMA_VERSION);
    expect(dump(now)).toEqual(before);
    expect(store.read.latest()).toMatchObject({ force: { utc_us: 1768467601012500, count: null, flags: 4 }, speed: { speed_rpm: 600 }, hot: null, flow: null });
    expect(store.read.boots(1)).toMatchObject([{ boot_id: 3, reset_cause: 'external emulated', force_rows: 2, edge_rows: 3, lost: 2 }]);
    for (const row of [hot(3, 3e6, 0x01900190), water(3, 3e6), flow(3, 3e6, 2e6, 5), mark(3, 3e6), setting(3, 3e6, 2, 250), force(3, 3e6, 1)]) store.writer.message(row);
    clock.advance(250_000);
    expect(store.writer.totals).toMatchObject({ refused: 0, rows: { force: 1, edge: 0, hot: 1, water: 1, flow: 1, mark: 1, setting: 1, status: 0 } });
    expect(store.read.counts()).toMatchObject({ force: { rows: 3, duplicates: 1 }, mark: { rows: 1, duplicates: 0 } });
    now.close();
    store.close();
  });

  it('has a column for every field of the stored messages', () => {
    const db = new Database(':memory:');
    migrate(db);
    for (const name of storedStreams) {
      const columns = db.pragma(`table_info(${name}_raw)`) as { name: string }[];
      for (const field of messages.find((m) => m.name === name)?.fields ?? []) {
        const column = field.name + (field.unit === '' || field.name.endsWith(field.unit) ? '' : `_${field.unit}`);
        expect(columns.map((c) => c.name)).toContain(column);
      }
    }
  });
});

describe('what is refused a place in the record', () => {
  it('is one row, counted, and never its batch', () => {
    const clock = new HandClock();
    const store = openStore(place.path('rows.db'), { clock });
    const { boot_id } = store.bootFor({ hello: helloOf(), simulated: false });
    for (const row of [force(boot_id, 1000), force(boot_id, 1000, 9), force(77, 5), force(boot_id, 2000, 5.5), edge(boot_id, 10), status(boot_id, 20)]) {
      store.writer.message(row);
    }
    clock.advance(250_000);
    expect(store.writer.totals).toMatchObject({ rows: { force: 1, edge: 1, status: 1 }, duplicates: 1, refused: 2, failures: 0 });
    expect(store.writer.refusal).toMatch(/REAL|INTEGER|datatype/i);
    expect(store.read.latest().force?.count).toBe(1234);
    expect(store.read.counts().force).toEqual({ rows: 1, duplicates: 1 });
    store.close();
  });
});

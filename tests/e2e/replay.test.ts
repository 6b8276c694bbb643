import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

import DatabaseFile from 'better-sqlite3';
import { afterEach, describe, expect, it } from 'vitest';

import { needTool } from '../support/need.js';
import { ended, Pty } from '../support/pty_twin.js';
import { run, Serving, tempFolder, until } from '../support/program.js';

const serving: Serving[] = [];
afterEach(async () => {
  for (const s of serving.splice(0)) if (s.child.exitCode === null) await s.stop('SIGKILL');
});
const serve = (args: readonly string[], data: string): Serving => {
  const s = new Serving(args, data);
  serving.push(s);
  return s;
};

interface Summary {
  simulated: boolean;
  recorded_s: number;
  lines: number;
  boots: number;
  gaps: number;
  messages: Record<string, number>;
  faults: Record<string, number>;
  torn: boolean;
  events_lost: number;
}

function rows(file: string, sql: string): unknown[] {
  const db = new DatabaseFile(file, { readonly: true });
  try {
    return db.prepare(sql).raw().all();
  } finally {
    db.close();
  }
}

const RAW = [
  'SELECT * FROM force_raw ORDER BY boot_id, tick',
  'SELECT * FROM edge_raw ORDER BY boot_id, tick',
  'SELECT * FROM status_raw ORDER BY boot_id, tick',
  'SELECT boot_id, stream, tick_from, tick_to, cause, lost FROM gap ORDER BY 1, 2, 3',
  'SELECT boot_id, board_id, board_boot, simulated, reset_cause, tick_first FROM boot ORDER BY boot_id',
];

interface Piece {
  boot_id: number;
  tick_from: number;
  utc_us: number;
  us_per_tick: number;
  u_us: number;
}
function pieces(file: string): Piece[] {
  const db = new DatabaseFile(file, { readonly: true });
  try {
    return db.prepare<[], Piece>('SELECT boot_id, tick_from, utc_us, us_per_tick, u_us FROM clock_map ORDER BY boot_id, tick_from').all();
  } finally {
    db.close();
  }
}

function expectSame(live: string, replayed: string): void {
  for (const sql of RAW) expect(rows(replayed, sql), sql).toEqual(rows(live, sql));
  const was = pieces(live);
  const is = new Map(pieces(replayed).map((p) => [`${p.boot_id} ${p.tick_from}`, p]));
  expect(was.length).toBeGreaterThan(3);
  let same = 0;
  for (const p of was) {
    const q = is.get(`${p.boot_id} ${p.tick_from}`);
    // Pieces that are stored again only because UTC became known better need not come again.
    if (q === undefined) continue;
    same++;
    expect(q.us_per_tick).toBeCloseTo(p.us_per_tick, 12);
    expect(Math.abs(q.utc_us - p.utc_us)).toBeLessThan(1100);
  }
  expect(same).toBeGreaterThan(was.length / 2);
}

describe('a recording of the demo', { timeout: 60_000 }, () => {
  it('is replayed to the same rows, through resets and an unplugged board, and is served at a chosen speed', async () => {
    const data = tempFolder();
    const recording = join(data, 'day.recording');
    const s = await serve(['--depth', 'wire', '--speed', '4', '--record', recording], data).live();
    const twin = { XDG_DATA_HOME: data };
    const force = async (): Promise<number> => (await s.get<{ rows: { force: number } }>('api/counts')).rows.force;
    await until(async () => {
      const { rows: n } = await s.get<{ rows: { force: number; edge: number } }>('api/counts');
      return n.force > 60 && n.edge > 60;
    }, 30_000);
    expect((await run(['twin', 'do', 'reset'], twin)).status).toBe(0);
    await until(async () => (await s.get<unknown[]>('api/boots')).length === 2, 10_000);
    expect((await run(['twin', 'do', 'unplug 2 s'], twin)).status).toBe(0);
    const before = await force();
    await until(async () => (await force()) > before + 60, 15_000);
    expect((await s.stop()).status).toBe(0);

    // Nothing to see is nothing to compare.
    expect(rows(s.db, 'SELECT 1 FROM force_raw').length).toBeGreaterThan(100);
    expect(rows(s.db, 'SELECT 1 FROM edge_raw').length).toBeGreaterThan(50);
    expect(rows(s.db, 'SELECT 1 FROM gap').length).toBeGreaterThan(0);
    const db = join(data, 'again.db');
    const ran = await run(['replay', recording, '--db', db, '--json']);
    expect(ran.stderr).not.toContain('error');
    expect(ran.status).toBe(0);
    const summary = JSON.parse(ran.stdout) as Summary;
    expect(summary).toMatchObject({ simulated: true, boots: 2, torn: false, events_lost: 0 });
    expect(summary.gaps).toBeGreaterThan(0);
    expectSame(s.db, db);

    // A second time into the same file would mix two records.
    const again = await run(['replay', recording, '--db', db, '--json']);
    expect(again.status).toBe(1);
    expect(again.stderr).toContain('FILE_EXISTS');

    // One whose writer was cut short gives what is whole, and says so.
    const cut = join(data, 'cut.recording');
    const whole = readFileSync(recording);
    // Inside of a line: where the middle of the file happens to be the end of one, nothing would be torn.
    const line = whole.indexOf('\n', Math.floor(whole.length / 2)) + 1;
    writeFileSync(cut, whole.subarray(0, line + 5));
    const half = JSON.parse((await run(['replay', cut, '--db', join(data, 'half.db'), '--json'])).stdout) as Summary;
    expect(half.torn).toBe(true);
    expect(half.lines).toBeGreaterThan(summary.lines / 4);
    expect(half.lines).toBeLessThan(summary.lines * 0.75);

    // Served at a chosen speed, to the same rows, and marked.
    const slow = new Serving([], data, ['replay', recording, '--db', join(data, 'slow.db'), '--speed', '20']);
    serving.push(slow);
    await slow.live();
    expect(await slow.get<object>('health')).toMatchObject({ simulated: true });
    await until(() => slow.stdout.trim().split('\n').length === 2, 15_000, () => slow.stderr);
    expect(((await (await fetch(`${slow.url}health`)).json()) as { reason: string }).reason).toContain('over');
    expect((await slow.stop()).status).toBe(0);
    expectSame(s.db, join(data, 'slow.db'));
  });

  it('is not begun over a file that is there', async () => {
    const data = tempFolder();
    const file = join(data, 'letter.txt');
    writeFileSync(file, 'Dear all');
    const s = serve(['--record', file], data);
    expect(await s.exited).toBe(1);
    expect(s.stderr).toContain('FILE_EXISTS');
    expect(readFileSync(file, 'utf8')).toBe('Dear all');
  });
});

describe.skipIf(!needTool('socat', 'socat', 'a recording over a pseudo-terminal'))('a recording over a pseudo-terminal', () => {
  it('is replayed to the same rows, though nobody knew beforehand that the board is emulated', { timeout: 60_000 }, async () => {
    const data = tempFolder();
    const pty = await new Pty(join(data, 'board')).ready();
    const recording = join(data, 'pty.recording');
    const s = serve(['--port', pty.path, '--db', join(data, 'live.db'), '--record', recording], data);
    try {
      await s.listening();
      const twin = pty.twin(['--speed', '1', '--eeprom', join(data, 'eeprom')]);
      await s.live();
      await until(async () => (await s.get<{ rows: { edge: number } }>('api/counts')).rows.edge > 20, 20_000);
      // A busy machine has seen the edges before the clock map has its pieces.
      await until(() => pieces(s.db).length > 3, 20_000);
      twin.kill('SIGTERM');
      await ended(twin);
      await s.stop();
    } finally {
      pty.close();
    }
    expect(readFileSync(recording, 'latin1').split('\n')[0]).toContain('simulated=unknown');
    const ran = await run(['replay', recording, '--db', join(data, 'again.db'), '--json']);
    expect(ran.status).toBe(0);
    expect(JSON.parse(ran.stdout)).toMatchObject({ simulated: true, boots: 1 });
    expectSame(s.db, join(data, 'again.db'));
  });
});

describe('replay refuses', () => {
  const header = 'smallbrake-recording 1 wall_us=1768467600000000 simulated=no\n';
  it.each([
    ['a letter', 'Dear all,\nthis is no recording.\n', 'NOT_A_RECORDING'],
    ['nothing', '', 'NOT_A_RECORDING'],
    ['a later format', header.replace(' 1 ', ' 2 '), 'NOT_A_RECORDING'],
    ['an endless line', 'x'.repeat(2_000_000), 'NOT_A_RECORDING'],
    ['a line that is none', `${header}0 open p\n5 < F0000\\n\nhello?\n6 < x\n`, 'RECORDING_DAMAGED'],
  ])('%s', async (_what, text, code) => {
    const data = tempFolder();
    const file = join(data, 'a.recording');
    writeFileSync(file, text);
    const { status, stderr, stdout } = await run(['replay', file, '--db', join(data, 'new.db'), '--json']);
    expect(status).toBe(1);
    expect(stdout).toBe('');
    expect((JSON.parse(stderr) as { error: { code: string } }).error.code).toBe(code);
    if (code === 'RECORDING_DAMAGED') expect(stderr).toContain('Line 4');
  });

  it('a file that is not there, and a command without a record', async () => {
    const data = tempFolder();
    expect((await run(['replay', join(data, 'none'), '--db', join(data, 'new.db')])).stderr).toContain('none');
    expect((await run(['replay', join(data, 'none')])).status).toBe(2);
  });
});

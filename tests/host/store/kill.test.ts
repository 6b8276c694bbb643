import Database from 'better-sqlite3';
import { spawn } from 'node:child_process';
import { existsSync } from 'node:fs';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { afterAll, expect, it } from 'vitest';

import { openStore } from '../../../host/store/open.js';
import { schemaHash } from '../../../protocol/messages.js';
import { HandClock } from '../../support/hand_clock.js';
import { scratch } from './support/board.js';

const place = scratch();
afterAll(() => place.remove());
const child = fileURLToPath(new URL('support/writing_child.mjs', import.meta.url));
const built = fileURLToPath(new URL('../../../dist/host/store/open.js', import.meta.url));
const ROW_ms = 2.5;

it('killed without warning three times, the record opens clean and lacks at most the last 300 ms', async () => {
  expect(existsSync(built), `${built} is missing: npm run build`).toBe(true);
  const path = place.path('killed.db');
  for (let round = 1; round <= 3; round++) {
    const writing = spawn(process.execPath, [child, path, String(round), String(schemaHash())], { stdio: ['ignore', 'pipe', 'inherit'] });
    let said = '';
    writing.stdout.setEncoding('utf8').on('data', (text: string) => (said += text));
    const ended = new Promise((resolve) => writing.on('close', resolve));
    while (said === '') await sleep(10);
    await sleep(350 + Math.random() * 600);
    writing.kill('SIGKILL');
    await ended;
    const handed = Number(said.trim().split('\n').at(-1));

    const store = openStore(path, { clock: new HandClock() });
    const boot_id = store.read.boots(1)[0]?.boot_id;
    store.close();
    expect(boot_id).toBe(round);
    const db = new Database(path, { readonly: true });
    expect(db.pragma('integrity_check', { simple: true })).toBe('ok');
    expect(db.pragma('foreign_key_check')).toEqual([]);
    const { rows, newest } = db.prepare('SELECT count(*) AS rows, coalesce(max(count), 0) AS newest FROM force_raw WHERE boot_id = ?').get(round) as {
      rows: number;
      newest: number;
    };
    const { tally } = db.prepare("SELECT rows AS tally FROM tally WHERE boot_id = ? AND stream = 'force'").get(round) as { tally: number };
    db.close();
    expect(rows).toBe(newest);
    expect(tally).toBe(rows);
    expect(handed).toBeGreaterThan(350 / ROW_ms / 2);
    expect((handed - newest) * ROW_ms).toBeLessThanOrEqual(300);
  }
}, 30_000);

import { execFileSync, spawn } from 'node:child_process';
import type { ChildProcess } from 'node:child_process';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

import { afterEach, describe, expect, it } from 'vitest';
import WebSocket from 'ws';

import { projectRoot } from '../support/compile.js';
import { needTool } from '../support/need.js';
import { run, Serving, tempFolder, until } from '../support/program.js';

const serving: Serving[] = [];
const serve = (args: readonly string[] = [], data?: string): Serving => {
  const s = new Serving(args, data);
  serving.push(s);
  return s;
};
/** For what is not about the board: the emulated chip takes as much as the daemon. */
const WITHOUT_CHIP = ['--depth', 'wire'];
const started: ChildProcess[] = [];
afterEach(async () => {
  for (const s of serving.splice(0)) if (s.child.exitCode === null) await s.stop('SIGKILL');
  for (const child of started.splice(0)) if (child.exitCode === null) child.kill('SIGTERM');
});

interface Latest {
  simulated: boolean;
  force: { count: number } | null;
  speed: { speed_rpm: number } | null;
}

describe('serve, with the demo', { timeout: 60_000 }, () => {
  it('shows counts and speed out of the committed firmware, takes hands, and ends cleanly', async () => {
    const s = serve();
    await s.listening();
    expect([200, 503]).toContain((await fetch(`${s.url}health`)).status);
    await s.live();
    const health = await s.get<{ status: string; simulated: boolean; board: { id: string } }>('health');
    expect(health).toMatchObject({ status: 'live', simulated: true });
    await until(async () => (await s.get<Latest>('api/latest')).speed !== null, 15_000);
    await until(async () => (await s.get<Latest>('api/latest')).force?.count !== undefined, 5_000);

    // What the software says against what is true at the bench.
    const twin = { XDG_DATA_HOME: s.data };
    const truth = JSON.parse((await run(['twin', 'now', '--json'], twin)).stdout) as { speed_rpm: number; simulated: boolean };
    const said = await s.get<Latest>('api/latest');
    expect(truth.simulated).toBe(true);
    // The engine is still running up, and a command takes a third of a second.
    expect(Math.abs((said.speed?.speed_rpm ?? 0) / truth.speed_rpm - 1)).toBeLessThan(0.3);

    const before = said.force?.count ?? NaN;
    const hung = await run(['twin', 'do', 'hang 500 g', '--json'], twin);
    expect(hung.status).toBe(0);
    await until(async () => Math.abs(((await s.get<Latest>('api/latest')).force?.count ?? before) - before) > 20_000, 5_000);
    const wrong = await run(['twin', 'do', 'hung 500 g'], twin);
    expect(wrong.status).toBe(2);
    expect(wrong.stderr).toContain('hung');

    const { status, took_ms } = await s.stop();
    expect(status).toBe(0);
    expect(took_ms).toBeLessThan(3000);
    expect(s.stdout.trim().split('\n')).toHaveLength(1);
    expect(existsSync(`${s.db}-wal`)).toBe(false);
    expect(s.db).toBe(join(s.data, 'smallbrake', 'demo.db'));
  });

  it('streams live values and says that they are simulated', async () => {
    const s = await serve(WITHOUT_CHIP).live();
    const socket = new WebSocket(`${s.url.replace('http', 'ws')}stream`);
    const heard: { v: number; simulated?: boolean; channel?: string }[] = [];
    socket.on('message', (data: Buffer) => heard.push(JSON.parse(data.toString()) as (typeof heard)[number]));
    await until(() => ['force', 'speed'].every((c) => heard.some((m) => JSON.stringify(m).includes(`"${c}"`))) && heard.length > 20, 15_000);
    expect(heard.every((m) => m.v === 1)).toBe(true);
    expect(JSON.stringify(heard[0])).toContain('"simulated":true');
    const { took_ms } = await s.stop();
    expect(took_ms).toBeLessThan(3000);
  });

  it('goes on with the same board in the same record after a restart', async () => {
    const first = await serve(WITHOUT_CHIP).live();
    const board = (await first.get<{ board: { id: string } }>('health')).board.id;
    await first.stop();
    const second = await serve(WITHOUT_CHIP, first.data).live();
    expect((await second.get<{ board: { id: string } }>('health')).board.id).toBe(board);
    const boots = await second.get<{ boot_id: number; board_boot: number }[]>('api/boots');
    expect(boots.map((b) => b.boot_id)).toEqual([2, 1]);
    expect(boots.map((b) => b.board_boot)).toEqual([2, 1]);
  });

  it.skipIf(!needTool('sqlite3', 'sqlite3', 'plain sqlite3 beside the running daemon'))('is read by plain sqlite3 while it runs', async () => {
    const s = await serve(WITHOUT_CHIP).live();
    const ask = (sql: string): string => execFileSync('sqlite3', [s.db, sql], { encoding: 'utf8' }).trim();
    await until(() => Number(ask('select count(*) from force where count is not null')) > 20, 15_000);
    await until(() => Number(ask('select speed_rpm from speed where speed_rpm is not null order by tick desc limit 1')) > 50, 15_000);
    expect(ask('select distinct simulated from force')).toBe('1');
    const n = Number(ask('select count(*) from force'));
    await until(() => Number(ask('select count(*) from force')) > n, 5_000);
  });

  it('keeps to --seed and --speed, and writes the truth beside', async () => {
    const data = tempFolder();
    const truth = join(data, 'truth.ndjson');
    const s = await serve(['--seed', '7', '--speed', '4', '--truth', truth], data).live();
    const at = process.hrtime.bigint();
    const start = (await s.get<{ uptime_s: number }>('health')).uptime_s;
    await until(async () => (await s.get<{ uptime_s: number }>('health')).uptime_s - start > 8, 20_000);
    const wall_s = Number(process.hrtime.bigint() - at) / 1e9;
    // Eight bench seconds take two; a twin that was held up makes up for one at most.
    expect(wall_s).toBeGreaterThan(0.9);
    await s.stop();
    const header = JSON.parse(execFileSync('head', ['-n1', truth], { encoding: 'utf8' })) as object;
    expect(JSON.stringify(header)).toContain('"seed":7');
    expect(JSON.stringify(header)).toContain('"simulated":true');
  });
});

describe('under npm', { timeout: 60_000 }, () => {
  it.each([['npm', ['start', '--']], ['npx', ['smallbrake', 'serve']]])('%s passes a SIGTERM on, and nothing is left', async (command, args) => {
    const data = tempFolder();
    // Without the build that the first npx in a folder would start anew: it takes dist/ away from under the other tests.
    const child = spawn(command, [...args, '--json', '--listen', '127.0.0.1:0'], { cwd: projectRoot, env: { ...process.env, XDG_DATA_HOME: data, npm_config_ignore_scripts: 'true' }, stdio: ['ignore', 'pipe', 'inherit'] });
    started.push(child);
    let out = '';
    child.stdout.on('data', (chunk: Buffer) => (out += chunk.toString()));
    await until(() => out.includes('"listening"'), 40_000);
    const { url } = JSON.parse(out.slice(out.indexOf('{"event"')).split('\n')[0] ?? '') as { url: string };
    await until(async () => (await fetch(`${url}health`)).status === 200, 20_000);
    const pid = readFileSync(join(data, 'smallbrake', 'demo.db.lock'), 'utf8').match(/\d+/)?.[0] ?? '';
    expect(existsSync(`/proc/${pid}`)).toBe(true);
    child.kill('SIGTERM');
    await until(async () => {
      try {
        await fetch(`${url}health`);
        return false;
      } catch {
        return !existsSync(`/proc/${pid}`) && !existsSync(join(data, 'smallbrake', 'demo.db-wal'));
      }
    }, 3_000);
  });
});

describe('serve refuses', { timeout: 30_000 }, () => {
  it('a second writer, a taken address, and a scenario with a wrong key', async () => {
    const s = await serve(WITHOUT_CHIP).live();
    const second = serve([], s.data);
    expect(await second.exited).toBe(1);
    expect(second.stderr).toContain(String(s.child.pid));

    const taken = new Serving(['--listen', new URL(s.url).host]);
    expect(await taken.exited).toBe(1);
    expect(taken.stderr).toContain('--listen');

    const scenario = join(s.data, 'scenario.json');
    const teasel = JSON.parse(readFileSync(join(projectRoot, 'firmware/twin/scenarios/teasel.json'), 'utf8')) as object;
    writeFileSync(scenario, JSON.stringify({ ...teasel, bruke: 1 }));
    const wrong = serve(['--scenario', scenario]);
    expect(await wrong.exited).toBe(1);
    expect(wrong.stderr).toContain('bruke');
  });

  it('a file that is no record of ours, and leaves it as it was', async () => {
    const data = tempFolder();
    const file = join(data, 'letter.db');
    writeFileSync(file, 'Dear all, this is a letter and no database.');
    const s = serve(['--port', 'none', '--db', file], data);
    expect(await s.exited).toBe(1);
    expect(s.stderr).toContain('letter.db');
    expect(execFileSync('cat', [file], { encoding: 'utf8' })).toContain('Dear all');
  });
});

describe('serve without a board', () => {
  it('serves a record, and says why it is not live', async () => {
    const s = await serve(['--port', 'none']).listening();
    const response = await fetch(`${s.url}health`);
    expect(response.status).toBe(503);
    expect(((await response.json()) as { reason: string }).reason.length).toBeGreaterThan(10);
    expect((await s.stop()).status).toBe(0);
  });
});

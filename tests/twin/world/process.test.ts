import { fork, spawn } from 'node:child_process';
import type { ChildProcess } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { decodeLine, encodeLine } from '../../../protocol/codec.js';
import { packageRoot } from '../../../host/package_root.js';
import { builtIn } from '../../../firmware/twin/scenario.js';
import type { TruthRecord } from '../../../firmware/twin/truth.js';

const program = join(packageRoot(), 'dist', 'firmware', 'twin', 'main.js');

let folder = '';
const children: ChildProcess[] = [];
beforeEach(() => (folder = mkdtempSync(join(tmpdir(), 'twin-'))));
afterEach(() => {
  for (const child of children.splice(0)) child.kill('SIGKILL');
  rmSync(folder, { recursive: true, force: true });
});

interface Report {
  kind: string;
  t_us?: number;
  speed_now?: number;
  address?: string;
  message?: string;
}

class Twin {
  readonly child: ChildProcess;
  readonly reports: Report[] = [];
  out = '';
  err = '';

  constructor(...args: string[]) {
    this.child = fork(program, args, { stdio: ['pipe', 'pipe', 'pipe', 'ipc'] });
    children.push(this.child);
    this.child.on('message', (r: Report) => this.reports.push(r));
    this.child.stdout?.on('data', (b: Buffer) => (this.out += b.toString('latin1')));
    this.child.stderr?.on('data', (b: Buffer) => (this.err += b.toString()));
  }

  async until(what: () => boolean, limit_ms = 10_000): Promise<void> {
    const start = Date.now();
    while (!what()) {
      if (Date.now() - start > limit_ms) throw new Error(`it did not come; standard error: ${this.err}`);
      await new Promise((done) => setTimeout(done, 10));
    }
  }

  async exit(): Promise<number | null> {
    if (this.child.exitCode === null && this.child.signalCode === null) await once(this.child, 'exit');
    return this.child.exitCode;
  }
}

const truthOf = (file: string): TruthRecord[] =>
  readFileSync(file, 'utf8')
    .split('\n')
    .filter((l) => l !== '')
    .map((l) => JSON.parse(l) as TruthRecord);

describe.skipIf(!existsSync(program))('the twin as a process', () => {
  it('speaks the board on its output, tells the bench time, takes acts, and ends with its input', async () => {
    const truthFile = join(folder, 'truth.ndjson');
    const twin = new Twin('--truth', truthFile, '--hands', '127.0.0.1:0', '--speed', '4', '--eeprom', join(folder, 'eeprom.bin'));
    await twin.until(() => twin.out.split('\n').length > 50 && twin.reports.some((r) => r.kind === 'hands'));
    twin.child.stdin?.write(encodeLine({ name: 'who', seq: 7 }), 'latin1');
    await twin.until(() => (twin.out.match(/^B/gm) ?? []).length === 2);

    const address = twin.reports.find((r) => r.kind === 'hands')?.address ?? '';
    expect(address).toMatch(/^127\.0\.0\.1:\d+$/);
    const post = (body: string, headers: Record<string, string> = { 'content-type': 'application/json' }) =>
      fetch(`http://${address}/do`, { method: 'POST', headers, body });
    const done = await post('{"act": "hang 100 g"}');
    expect(done.status).toBe(200);
    expect(await done.json()).toMatchObject({ ok: true, simulated: true, said: '100 g hangs on the arm' });
    const wrong = await post('{"act": "hang 100 stone"}');
    expect(wrong.status).toBe(400);
    expect(await wrong.json()).toMatchObject({ ok: false, error: { code: 'BAD_ACT', word: '"stone"' } });
    expect((await post('{"act": "reset"}', { 'content-type': 'text/plain' })).status).toBe(400);
    expect((await post('{"act": "reset"}', { 'content-type': 'application/json', origin: 'http://evil.example' })).status).toBe(403);
    expect((await post(`{"act": "${'x'.repeat(2000)}"}`)).status).toBe(400);
    expect((await fetch(`http://${address}/elsewhere`)).status).toBe(404);
    expect(await (await fetch(`http://${address}/truth/now`)).json()).toMatchObject({ simulated: true, hung_kg: 0.1, flow_Lpmin: 0.4, coolant_in_C: 17.5, hot_C: expect.any(Number) as number, spare_V: 0.5 });
    expect(JSON.stringify(await (await fetch(`http://${address}/acts`)).json())).toContain('"usage":"brake 0.4"');

    twin.child.stdin?.end();
    expect(await twin.exit()).toBe(0);
    const times = twin.reports.filter((r) => r.kind === 'bench_time').map((r) => r.t_us ?? NaN);
    expect(times.length).toBeGreaterThan(20);
    expect(times.every((t, i) => i === 0 || t > (times[i - 1] ?? NaN))).toBe(true);

    const truth = truthOf(truthFile);
    expect(truth[0]).toMatchObject({ kind: 'header', simulated: true, seed: 20 });
    expect(truth.filter((r) => r.kind === 'act')).toHaveLength(1);
    expect(truth.at(-1)).toMatchObject({ kind: 'end', bytes_out: twin.out.length });
    const sent = truth.filter((r) => r.kind === 'line').map((r) => r.text);
    expect(twin.out.split('\n').slice(0, -1)).toEqual(sent);
    expect(sent.every((line) => typeof decodeLine(line) !== 'string')).toBe(true);

    // The same board again: it remembers its boots.
    const again = new Twin('--eeprom', join(folder, 'eeprom.bin'), '--speed', '0');
    await again.until(() => again.out.includes('\n'));
    expect(decodeLine(again.out.split('\n')[0] ?? '')).toMatchObject({ name: 'hello', boot_count: 2 });
  }, 20_000);

  it.each(['SIGTERM', 'disconnect'] as const)('ends on %s even if nobody reads it', async (how) => {
    const child = fork(program, ['--speed', '0', '--scenario', builtIn('full-load')], { stdio: ['pipe', 'pipe', 'pipe', 'ipc'] });
    children.push(child);
    await once(child, 'message');
    child.stdout?.pause();
    await new Promise((done) => setTimeout(done, 1500));
    const start = Date.now();
    if (how === 'SIGTERM') child.kill('SIGTERM');
    else child.disconnect();
    const [code] = (await once(child, 'exit')) as [number | null];
    expect(code).toBe(0);
    expect(Date.now() - start).toBeLessThan(2500);
  }, 15_000);

  it('ends by itself after the scenario\'s duration, with whole truth', async () => {
    const { writeFileSync } = await import('node:fs');
    const scenario = JSON.parse(readFileSync(builtIn('full-load'), 'utf8')) as Record<string, unknown>;
    const file = join(folder, 'short.json');
    writeFileSync(file, JSON.stringify({ ...scenario, duration_s: 5 }));
    const twin = new Twin('--scenario', file, '--speed', '0', '--seed', '99', '--truth', join(folder, 't.ndjson'));
    expect(await twin.exit()).toBe(0);
    const truth = truthOf(join(folder, 't.ndjson'));
    expect(truth[0]).toMatchObject({ seed: 99 });
    expect(truth.at(-1)).toMatchObject({ kind: 'end', t_s: 5 });
    await twin.until(() => twin.out.split('\n').length - 1 === truth.filter((r) => r.kind === 'line').length);
  }, 15_000);

  it.each([
    [['--sped', '5'], 2, /--sped/],
    [['--speed', 'fast'], 2, /--speed fast: must be a number from 0 to 1000/],
    [['--hands', '0.0.0.0:8000'], 2, /--hands 0\.0\.0\.0:8000/],
    [['--scenario', '/nowhere.json'], 1, /\/nowhere\.json cannot be read/],
    [['--truth', '/nowhere/t.ndjson'], 1, /\/nowhere\/t\.ndjson cannot be written/],
  ])('refuses %j with status %d, on standard error alone', async (args, status, said) => {
    const child = spawn(process.execPath, [program, ...args], { stdio: ['pipe', 'pipe', 'pipe'] });
    children.push(child);
    let out = '';
    let err = '';
    child.stdout.on('data', (b: Buffer) => (out += b.toString()));
    child.stderr.on('data', (b: Buffer) => (err += b.toString()));
    const [code] = (await once(child, 'close')) as [number | null];
    expect(code).toBe(status);
    expect(err).toMatch(said);
    expect(out).toBe('');
  });
});

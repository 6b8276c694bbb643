import { spawn } from 'node:child_process';
import type { ChildProcess } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';

import Database from 'better-sqlite3';
import { afterEach, describe, expect, it } from 'vitest';

import { projectRoot } from '../support/compile.js';
import { program, run, Serving, tempFolder, until } from '../support/program.js';

interface Event {
  event: 'said' | 'step' | 'live' | 'result' | 'ended';
  id?: string;
  kind?: string;
  text?: string;
  ended?: string;
  why_not?: string | null;
  result?: { slope: { value: number; U95: number }; text: string[] };
}

const running: Serving[] = [];
const guides: Guided[] = [];
afterEach(async () => {
  for (const g of guides.splice(0)) g.child.kill('SIGKILL');
  for (const s of running.splice(0)) if (s.child.exitCode === null) await s.stop('SIGKILL');
});

/** The demo's bench with a cold engine that stands. */
function stillScenario(folder: string): string {
  const scenario = JSON.parse(readFileSync(join(projectRoot, 'firmware/twin/scenarios/teasel.json'), 'utf8')) as Record<string, unknown> & { engine: object };
  const off = { between: 'step', points: [{ t_s: 0, value: 0 }] };
  const file = join(folder, 'still.json');
  writeFileSync(file, JSON.stringify({ ...scenario, $schema: undefined, engine: { ...scenario.engine, hot_start: 0 }, programme: { heat: off, brake: off } }));
  return file;
}

async function bench(speed: number): Promise<Serving> {
  const folder = tempFolder();
  const s = new Serving(['--scenario', stillScenario(folder), '--depth', 'wire', '--speed', String(speed)], folder);
  running.push(s);
  return s.live();
}

/** The command in a process of its own, spoken to line by line as a script would. */
class Guided {
  readonly child: ChildProcess;
  readonly exited: Promise<number | null>;
  out = '';
  err = '';

  constructor(command: readonly string[], bench: Serving) {
    this.child = spawn(process.execPath, [program, ...command, '--json', '--listen', new URL(bench.url).host], { stdio: ['pipe', 'pipe', 'pipe'] });
    this.child.stdout?.on('data', (chunk: Buffer) => (this.out += chunk.toString()));
    this.child.stderr?.on('data', (chunk: Buffer) => (this.err += chunk.toString()));
    this.exited = new Promise((done) => this.child.once('exit', (code) => done(code)));
    guides.push(this);
  }

  get events(): Event[] {
    return this.out.trim().split('\n').filter((l) => l !== '').map((l) => JSON.parse(l) as Event);
  }

  say(...lines: string[]): void {
    this.child.stdin?.write(lines.map((l) => `${l}\n`).join(''));
  }

  /** Waits until that step is the one asked for. */
  async step(id: string): Promise<void> {
    await until(() => this.events.findLast((e) => e.event === 'step')?.id === id, 60_000, () => `${this.out.slice(-1500)} ${this.err}`);
  }

  async live(pattern: RegExp): Promise<void> {
    await until(() => pattern.test(this.events.findLast((e) => e.event === 'live')?.why_not ?? ''), 60_000, () => this.out.slice(-1500));
  }

  async ends(): Promise<number | null> {
    await until(() => this.child.exitCode !== null, 30_000, () => this.out.slice(-1500));
    return this.exited;
  }
}

/** On a terminal the live line changes in place, in 80 columns, and Ctrl-C leaves cleanly with the session kept. */
async function inATerminal(s: Serving): Promise<void> {
  const command = [process.execPath, program, 'calibrate', '--listen', new URL(s.url).host, '--radius', '60mm', '--gravity', '9.812', '--mass', '50g,100g,200g', '--class', 'M1'];
  const child = spawn('script', ['-qfec', command.map((w) => `'${w}'`).join(' '), '/dev/null'], { stdio: ['pipe', 'pipe', 'inherit'] });
  let out = '';
  child.stdout.on('data', (chunk: Buffer) => (out += chunk.toString()));
  await until(() => /hang 200 g > /.test(out), 60_000, () => JSON.stringify(out.slice(-500)));
  expect(out).toContain('\x1b[1G\x1b[0J');
  // The live line gives way to what is told, by one way or the other.
  for (const line of out.split(/\r?\n|\x1b\[1G\x1b\[0J|\r\x1b\[J/)) expect(line.replace(/\x1b\[[0-9;?]*[A-Za-z]/g, '').replace(/\r/g, '').length, JSON.stringify(line)).toBeLessThanOrEqual(80);
  child.stdin.write('help\r');
  await until(() => out.includes('leave; this can be gone on with'), 30_000, () => JSON.stringify(out.slice(-500)));
  child.stdin.write('\x03');
  await until(() => child.exitCode !== null, 30_000, () => JSON.stringify(out.slice(-500)));
  expect([child.exitCode, out.includes('nothing is lost')]).toEqual([0, true]);
  expect((await s.get<{ guide: { ended: string | null } }>('api/guide')).guide.ended).toBeNull();
}

describe('calibrate, guided', { timeout: 240_000 }, () => {
  it('leads a script through a calibration over a client that leaves and a cable that is pulled, and keeps it; then zero and check mass hold against it', async () => {
    const s = await bench(40);
    const hands = JSON.parse(readFileSync(`${s.db}.twin.json`, 'utf8')) as { hands: string };
    const act = async (text: string): Promise<void> => {
      const answer = await fetch(`http://${hands.hands}/do`, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify({ act: text }) });
      expect(answer.status, text).toBe(200);
    };

    const first = new Guided(['calibrate'], s);
    await first.step('way');
    first.say('torque', 'sixty', '60 mm +-0.1 mm', '9.812', '50 g, 100 g, 200 g');
    await first.step('preload 200 g');
    expect(first.events.some((e) => e.kind === 'refused' && e.text?.includes('mm, cm or m'))).toBe(true);
    for (let i = 1; i <= 3; i++) {
      await first.live(/^hang 200 g/);
      await act('hang 200 g');
      await first.live(/^take 200 g off/);
      await act('hang 0');
    }
    await first.step('up 50 g');
    first.child.kill('SIGINT');
    expect(await first.ends()).toBe(0);
    expect(first.out).toContain('nothing is lost');

    const busy = await run(['zero', '--listen', new URL(s.url).host, '--json']);
    expect([busy.status, busy.stderr]).toEqual([1, expect.stringContaining('is going on at this bench')]);

    // Another client goes on where the first one left; its own answers come too late.
    const second = new Guided(['calibrate', '--keep', '--radius', '50mm'], s);
    await second.step('up 50 g');
    await act('hang 50 g');
    await second.step('up 100 g');
    await act('unplug 20 s');
    await until(() => second.out.includes('The board is back, in the same boot'), 30_000, () => second.out.slice(-1500));
    await act('hang 100 g');
    await second.step('up 200 g');
    await act('hang 200 g');
    await second.step('hold 200 g');
    second.say('skip');
    await second.step('down 100 g');
    await act('hang 100 g');
    await second.step('down 50 g');
    await act('hang 50 g');
    await second.step('return');
    await act('hang 0');
    expect(await second.ends()).toBe(0);

    const result = second.events.find((e) => e.event === 'result')?.result;
    // What the twin is built with, less the half of what an arm within 1 degree of level may be short by.
    const truth = 214_300 / 0.06;
    const { value = 0, U95 = 0 } = result?.slope ?? {};
    expect(Math.abs(value - truth)).toBeLessThan(U95);
    expect(U95 / value).toBeLessThan(3e-3);
    expect(second.events.at(-1)).toEqual({ event: 'ended', ended: 'kept' });
    expect(second.out).toContain('Kept: calibration 1 (load)');

    const zero = new Guided(['zero'], s);
    expect(await zero.ends()).toBe(0);
    expect(zero.out).toMatch(/Since the last one \(2, \d+\.\d min before\) it has moved by -?\d+\.\d counts = -?\d\.\d+ mNm/);

    const check = new Guided(['check', '100g'], s);
    await check.step('hang 100 g');
    await check.live(/nothing hangs on the arm yet/);
    await act('hang 100 g');
    expect(await check.ends()).toBe(0);
    expect(check.out).toContain('The check mass passes');
    const wrong = new Guided(['check', '50g'], s);
    await wrong.step('result');
    expect(wrong.out).toContain('The check mass fails');
    wrong.say('keep');
    expect(await wrong.ends()).toBe(0);

    await inATerminal(s);
    await s.stop();
    const db = new Database(s.db, { readonly: true });
    const rows = (sql: string): unknown[] => db.prepare(sql).all();
    expect(rows('SELECT channel, kind FROM calibration')).toEqual([{ channel: 'load', kind: 'torque' }]);
    expect(rows('SELECT count(*) AS n FROM zero')).toEqual([{ n: 3 }]);
    expect(rows('SELECT nominal_kg, passed FROM check_mass ORDER BY check_id')).toEqual([{ nominal_kg: 0.1, passed: 1 }, { nominal_kg: 0.05, passed: 0 }]);
    db.close();
  });
});

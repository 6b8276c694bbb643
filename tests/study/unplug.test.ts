import type { ChildProcess } from 'node:child_process';
import { join } from 'node:path';

import { describe, expect, it } from 'vitest';

import { projectRoot } from '../support/compile.js';
import { needTool } from '../support/need.js';
import { ended } from '../support/pty_twin.js';
import { Serving, tempFolder, until } from '../support/program.js';
import { storedBoots, storedGaps, storedRows } from '../support/record.js';
import type { StoredGap, StoredRow } from '../support/record.js';
import { sentBoots } from '../support/truth.js';
import type { SentRow } from '../support/truth.js';
import { Wire } from '../support/wire.js';

/** `npm run study` sets 100; the quick form is part of npm test. */
const UNPLUGS = Number(process.env['STUDY_UNPLUGS'] ?? 3);
const RESETS = Math.max(2, Math.round(UNPLUGS / 5));
/** Every so often the port comes back under another name. */
const RENAMED_every = 10;
const LIVE_AGAIN_MAX_ms = 3000;

/**
 * Real daemon, twin in a process of its own at full rate that runs on whatever happens to the
 * port: pulled out in the middle of a line, back under the same name or another, the board
 * reset, the adapter put on another board. From the twin's truth: nothing is stored that
 * was not sent, and what was sent and is not stored is a gap of exactly that many.
 */
describe.skipIf(!needTool('socat', 'socat', 'unplugged at full rate'))('unplugged at full rate', () => {
  it(`${UNPLUGS} times in mid-line, ${RESETS} resets, two other boards`, { timeout: 90_000 + UNPLUGS * 12_000 }, async () => {
    const folder = tempFolder();
    const wire = new Wire(folder);
    const boards = new Boards(folder, wire);
    await wire.plug();
    await boards.put('a');
    const serving = new Serving(['--port', wire.path, '--db', join(folder, 'record.db')], folder);
    wire.readBy(serving.child.pid);
    const again_ms = { unplugged: [] as number[], renamed: [] as number[], reset: [] as number[], swapped: [] as number[] };
    const noticed_ms: number[] = [];
    try {
      await serving.live();
      await sleep(1000);

      for (let n = 1; n <= UNPLUGS; n++) {
        noticed_ms.push(await timed(serving, () => wire.unplugInMidLine(), async () => !(await isLive(serving))));
        await sleep(50 + Math.random() * 2500);
        const renamed = n % RENAMED_every === 2;
        again_ms[renamed ? 'renamed' : 'unplugged'].push(await timed(serving, () => wire.plug(renamed ? `renamed${n}` : 'tty0'), () => isLive(serving)));
        await sleep(200 + Math.random() * 600);
      }

      for (let n = 1; n <= RESETS; n++) {
        again_ms.reset.push(await newBoot(serving, () => boards.do('reset')));
        await sleep(300 + Math.random() * 500);
      }

      for (const other of ['b', 'a']) {
        await wire.unplug();
        await boards.put(other);
        again_ms.swapped.push(await newBoot(serving, () => wire.plug()));
        await sleep(1000);
      }
      expect((await serving.stop()).status).toBe(0);
    } finally {
      if (serving.child.exitCode === null) await serving.stop('SIGKILL');
      await boards.end();
      await wire.end();
    }

    const file = join(folder, 'record.db');
    const boots = storedBoots(file);
    const sent = (await Promise.all(boards.truths.map(sentBoots))).flat();
    // One boot for all that was unplugged, one for each reset, one for each board that was put there.
    expect(boots).toHaveLength(1 + RESETS + 2);
    expect(sent).toHaveLength(boots.length);
    const rigs = boots.map((boot) => boot.rig_id);
    expect(rigs).toEqual([...Array<number>(1 + RESETS).fill(1), 2, 1]);

    const rows = storedRows(file);
    const gaps = storedGaps(file);
    const balances = boots.flatMap(({ boot_id }, i) =>
      (['force', 'edge'] as const).map((stream) =>
        balance(
          (sent[i] ?? []).filter((row) => row.stream === stream),
          rows.filter((row) => row.boot_id === boot_id && row.stream === stream),
          gaps.filter((gap) => gap.boot_id === boot_id && gap.stream === stream),
        ),
      ),
    );
    const sum = (of: (b: Balance) => number): number => balances.reduce((all, b) => all + of(b), 0);
    const report = {
      unplugged: UNPLUGS,
      resets: RESETS,
      sent: sum((b) => b.sent),
      stored: sum((b) => b.stored),
      gaps: sum((b) => b.gaps),
      lost: sum((b) => b.lost),
      never_sent: sum((b) => b.strangers),
      noticed_ms: figures(noticed_ms),
      again_ms: Object.fromEntries(Object.entries(again_ms).map(([what, all]) => [what, figures(all)])),
    };
    process.stderr.write(`unplugged: ${JSON.stringify(report)}\n`);
    expect(report.never_sent).toBe(0);
    expect(sum((b) => b.wrongGaps)).toBe(0);
    expect(report.stored + report.lost).toBe(report.sent);
    for (const b of balances) expect(b.stored + b.lost).toBe(b.sent);
    expect(report.gaps).toBeGreaterThanOrEqual(2 * UNPLUGS);
    expect(Math.max(...Object.values(again_ms).flat())).toBeLessThanOrEqual(LIVE_AGAIN_MAX_ms);
  });
});

const sleep = (ms: number): Promise<void> => new Promise((r) => setTimeout(r, ms));
const figures = (all: readonly number[]): { n: number; median: number; max: number } => ({
  n: all.length,
  median: Math.round(all.toSorted((a, b) => a - b)[all.length >> 1] ?? NaN),
  max: Math.round(Math.max(...all)),
});

/** Boards with memories of their own, one at a time at the wire. */
class Boards {
  readonly truths: string[] = [];
  readonly #folder: string;
  readonly #wire: Wire;
  #twin: ChildProcess | null = null;
  #hands = '';

  constructor(folder: string, wire: Wire) {
    this.#folder = folder;
    this.#wire = wire;
  }

  async put(board: string): Promise<void> {
    await this.end();
    const truth = join(this.#folder, `truth${this.truths.length}.ndjson`);
    this.truths.push(truth);
    const scenario = join(projectRoot, 'firmware/twin/scenarios/full-load.json');
    const twin = this.#wire.start(['--scenario', scenario, '--speed', '1', '--truth', truth, '--eeprom', join(this.#folder, `${board}.eeprom`), '--hands', '127.0.0.1:0']);
    this.#twin = twin;
    let said = '';
    twin.stderr?.on('data', (chunk: Buffer) => (said += chunk.toString()));
    await until(() => /hands at (\S+)/.test(said), 10_000, () => said);
    this.#hands = /hands at (\S+)/.exec(said)?.[1] ?? '';
  }

  async do(act: string): Promise<void> {
    const { status } = await fetch(`${this.#hands}/do`, { method: 'POST', headers: { 'content-type': 'application/json' }, body: JSON.stringify({ act }) });
    if (status !== 200) throw new Error(`the hands answered ${status}`);
  }

  async end(): Promise<void> {
    if (this.#twin === null) return;
    this.#twin.kill('SIGTERM');
    await ended(this.#twin);
  }
}

const isLive = async (serving: Serving): Promise<boolean> => (await fetch(`${serving.url}health`)).status === 200;

/** @returns how long `done` took to come true after the act */
async function timed(serving: Serving, act: () => Promise<void>, done: () => boolean | Promise<boolean>): Promise<number> {
  await act();
  const start_ms = performance.now();
  await until(done, 20_000, () => serving.stderr);
  return performance.now() - start_ms;
}

function newBoot(serving: Serving, act: () => Promise<void>): Promise<number> {
  const before = storedBoots(serving.db).length;
  return timed(serving, act, async () => storedBoots(serving.db).length > before && (await isLive(serving)));
}

interface Balance {
  /** Between the first and the last row that was stored. */
  readonly sent: number;
  readonly stored: number;
  readonly gaps: number;
  readonly lost: number;
  /** Rows that nobody sent. */
  readonly strangers: number;
  /** Gaps that say another number than was sent between their two rows. */
  readonly wrongGaps: number;
}

function balance(sent: readonly SentRow[], stored: readonly StoredRow[], gaps: readonly StoredGap[]): Balance {
  const known = new Map(sent.map((row) => [row.tick, row.text]));
  const from = stored[0]?.tick ?? Infinity;
  const to = stored.at(-1)?.tick ?? -Infinity;
  const between = (a: number, b: number): number => sent.filter((row) => row.tick > a && row.tick < b).length;
  return {
    sent: sent.filter((row) => row.tick >= from && row.tick <= to).length,
    stored: stored.length,
    gaps: gaps.length,
    lost: gaps.reduce((sum, gap) => sum + gap.lost, 0),
    strangers: stored.filter((row) => known.get(row.tick) !== row.text).length,
    wrongGaps: gaps.filter((gap) => gap.lost !== between(gap.tick_from, gap.tick_to)).length,
  };
}

import { fork } from 'node:child_process';
import { join } from 'node:path';

import type { BenchClock, Clock } from '../clock.js';
import { promised } from '../promised.js';
import type { BytePort } from './byte_port.js';
import { StreamBytePort } from './stream_port.js';

/** The compiled twin, from the package's root. Started as a process; never imported. */
export const twinProgram = 'dist/firmware/twin/main.js';
const KILL_AFTER_us = 1_000_000;

/** `board` runs the committed program on an emulated chip; `wire` says the same lines without one, much faster. */
export type TwinDepth = 'board' | 'wire';

export interface TwinOptions {
  readonly packageRoot: string;
  readonly depth: TwinDepth;
  /** null: the built-in demo. */
  readonly scenario: string | null;
  readonly seed: number | null;
  readonly speed: number;
  readonly truth: string | null;
  readonly eeprom: string | null;
}

export interface TwinProcess {
  /** One opening of the twin's line. */
  port(): BytePort;
  /** Where its hands listen, once it has said so. */
  readonly hands: Promise<string>;
  /** Magnets on its shaft, once it has said so: what a builder reads off the wheel. */
  readonly magnets: Promise<number>;
  /** Settles when it has ended; the reason is '' if it was told to. */
  readonly ended: Promise<{ readonly reason: string; readonly failed: boolean }>;
  /** Resolves when it is gone; asks first, kills after a second. */
  stop(): Promise<void>;
}

/** Arguments of the twin's program, in the form that it documents. */
export function twinArguments(options: Omit<TwinOptions, 'packageRoot'>, hands: string): string[] {
  const optional = (name: string, value: string | number | null): string[] => (value === null ? [] : [name, String(value)]);
  return [
    ...['--depth', options.depth],
    ...optional('--scenario', options.scenario),
    ...optional('--seed', options.seed),
    ...['--speed', String(options.speed)],
    ...optional('--truth', options.truth),
    ...optional('--eeprom', options.eeprom),
    ...['--hands', hands],
  ];
}

type Report =
  | { kind: 'bench_time'; t_us: number; speed_now: number }
  | { kind: 'hands'; address: string }
  | { kind: 'rig'; magnets: number }
  | { kind: 'failed'; message: string };

/** Bench time from one report to the next is 4 ms of the machine's, and 2 ms at least; one may come late. */
export const leash_us = (speed: number): number => 2 * Math.max(2000, 4000 * speed);

export function startTwin(options: TwinOptions, clock: BenchClock, wallClock: Clock): TwinProcess {
  const child = fork(join(options.packageRoot, twinProgram), twinArguments(options, '127.0.0.1:0'), {
    stdio: ['pipe', 'pipe', 'inherit', 'ipc'],
  });
  const { stdin, stdout } = child;
  if (stdin === null || stdout === null) throw new Error('the twin has no pipes');
  let stopping = false;
  let said = '';
  const ended = new Promise<{ reason: string; failed: boolean }>((resolve) => {
    child.once('error', (error) => resolve({ reason: error.message, failed: true }));
    child.once('exit', (code, signal) => {
      if (stopping) resolve({ reason: '', failed: false });
      else if (code === 0) resolve({ reason: 'the scenario is over', failed: false });
      else resolve({ reason: said || `it ended with ${signal ?? `status ${String(code)}`}`, failed: true });
    });
  });
  const hands = promised<string>();
  const magnets = promised<number>();
  child.on('message', (report: Report) => {
    if (report.kind === 'bench_time') {
      clock.follow(report.t_us);
      // A bench that is faster than we are waits for us.
      if (child.connected) child.send({ kind: 'heard', t_us: report.t_us }, () => undefined);
    } else if (report.kind === 'hands') hands.resolve(report.address);
    else if (report.kind === 'rig') magnets.resolve(report.magnets);
    else said = report.message;
  });
  void ended.then(() => clock.letGo());
  return {
    port: () => new StreamBytePort('the twin', stdout, stdin),
    hands: hands.promise,
    magnets: magnets.promise,
    ended,
    async stop() {
      stopping = true;
      if (child.exitCode === null && child.signalCode === null) {
        child.kill('SIGTERM');
        const cancel = wallClock.after(KILL_AFTER_us, () => void child.kill('SIGKILL'));
        await ended;
        cancel();
      }
    },
  };
}

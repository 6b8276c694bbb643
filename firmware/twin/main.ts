/**
 * The twin as a process: the committed firmware on an emulated chip in a simulated
 * bench, or, at depth wire, the lines that it would send. The board's line is standard input and output; all else goes to standard
 * error. Options: see options.ts. It ends when its input ends, when the process that
 * forked it goes away, on SIGTERM or SIGINT, and when the scenario's duration is over.
 *
 * A process that forks it is told {kind: 'bench_time', t_us, speed_now} after every
 * slice, which it may answer with {kind: 'heard', t_us}, {kind: 'rig', magnets} and {kind: 'hands', address} once, and {kind: 'failed', message} before it fails.
 */
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fail, reasonOf, SmallbrakeError } from '../../host/errors.js';
import { parseHex } from './chip/hex.js';
import { WireBoard } from './depth/wire.js';
import type { WireOptions } from './depth/wire.js';
import { EepromFile } from './eeprom-file.js';
import { Hands } from './hands.js';
import { readOptions } from './options.js';
import type { Depth } from './options.js';
import { openOutput, Outlet } from './outlet.js';
import { packageRoot } from '../../host/package_root.js';
import { Runner } from './runner.js';
import { readScenario } from './scenario.js';
import { noTruth, TruthFile } from './truth.js';
import { Board } from './wiring/board.js';

const HEX = join('firmware', 'release', 'smallbrake.hex');
/** How long the bench waits for a reader that does not read; as fast as possible it waits for ever. */
const PATIENCE_ms = 1000;
/** A host that floods the board is made to wait here. */
const INBOX_MAX_bytes = 64 * 1024;
const EXIT_FAILED = 1;
/** How far a bench without a chip runs ahead of a parent that says how far it has come. */
const LEAD_s = 0.4;

const tell = (text: string): void => void process.stderr.write(`twin: ${text}\n`);

async function main(): Promise<void> {
  const options = readOptions(process.argv.slice(2));
  const scenario = readScenario(options.scenario);
  const seed = options.seed ?? scenario.seed;
  const eeprom = options.eeprom === undefined ? undefined : new EepromFile(options.eeprom);
  const content = eeprom?.content;
  const truth = options.truth === undefined ? undefined : new TruthFile(options.truth);
  const stdout = openOutput(1);
  const outlet = new Outlet(stdout, options.speed === 0 ? Infinity : PATIENCE_ms);
  const board = boardAt(options.depth, { scenario, seed, ...(content && { eeprom: content }), truth: truth ?? null, out: (bytes) => outlet.write(bytes) });

  const parent = new Parent();
  parent.rig(scenario.rig.pickup.magnets);
  const keep = (): void => {
    const bytes = outlet.takeDropped();
    if (bytes > 0) truth?.record({ kind: 'undelivered', t_s: board.t_s, bytes });
    truth?.flush();
    eeprom?.save(board.eeprom);
  };
  const runner = new Runner({
    board,
    outlet,
    speed: options.speed,
    end_s: scenario.duration_s ?? Infinity,
    mustWait: () => options.depth === 'wire' && parent.isBehind(board.t_s),
    sliceDone: (t_s, speed_now) => {
      parent.time(t_s, speed_now);
      if (process.stdin.isPaused() && board.waiting_bytes < INBOX_MAX_bytes / 2) process.stdin.resume();
    },
    keep,
    tell,
  });

  const stop = (): void => runner.stop();
  process.stdin.on('data', (bytes: Buffer) => {
    board.receive(bytes);
    if (board.waiting_bytes > INBOX_MAX_bytes) process.stdin.pause();
  });
  process.stdin.on('end', stop);
  process.stdin.on('error', stop);
  stdout.on('error', stop);
  process.on('disconnect', stop);
  process.on('SIGTERM', stop);
  process.on('SIGINT', stop);

  const hands = options.handsPort === null ? undefined : new Hands(board);
  if (hands !== undefined) {
    const address = await hands.listen(options.handsPort ?? 0);
    tell(`hands at http://${address}`);
    parent.hands(address);
  }
  tell(`simulated: "${scenario.name}", seed ${seed}, depth ${options.depth}, speed ${options.speed === 0 ? 'as fast as possible' : options.speed}`);
  try {
    await runner.run();
  } finally {
    hands?.close();
    board.end();
    keep();
    truth?.close();
  }
  // What the board has said still goes out, if somebody reads.
  await Promise.race([new Promise<void>((done) => stdout.end(done)), new Promise<void>((done) => setTimeout(done, PATIENCE_ms))]);
}

const boardAt = (depth: Depth, given: WireOptions): Board | WireBoard =>
  depth === 'wire' ? new WireBoard(given) : new Board({ ...given, truth: given.truth ?? noTruth, flash: parseHex(readHex()) });

function readHex(): string {
  const file = join(packageRoot(), HEX);
  try {
    return readFileSync(file, 'latin1');
  } catch (e) {
    throw fail('CANNOT_READ', { file, reason: reasonOf(e) }, e);
  }
}

/** The process that forked this one, if one did. */
class Parent {
  #sending = false;
  /** Bench time that it said it has heard of; it may be one that says nothing. */
  #heard_s = Infinity;

  constructor() {
    process.on('message', (answer: { readonly kind?: unknown; readonly t_us?: unknown }) => {
      if (answer.kind === 'heard' && typeof answer.t_us === 'number') this.#heard_s = answer.t_us / 1e6;
    });
  }

  /** A bench that is much faster than its reader would be dated by where the reader is. */
  isBehind(t_s: number): boolean {
    return process.connected && t_s - this.#heard_s > LEAD_s;
  }

  /** Only the newest time matters: while one is under way to a busy parent, no other is queued behind it. */
  time(t_s: number, speed_now: number): void {
    if (this.#sending || !process.connected) return;
    this.#sending = true;
    this.#send({ kind: 'bench_time', t_us: Math.round(t_s * 1e6), speed_now }, () => (this.#sending = false));
  }

  /** What a builder knows of the rig by looking at it. */
  rig(magnets: number): void {
    this.#send({ kind: 'rig', magnets });
  }

  hands(address: string): void {
    this.#send({ kind: 'hands', address });
  }

  #send(report: object, sent: () => void = () => undefined): void {
    if (process.connected) process.send?.(report, undefined, undefined, sent);
  }
}

main().then(
  () => process.exit(0),
  (e: unknown) => {
    const error = e instanceof SmallbrakeError ? e : fail('INTERNAL', { reason: e instanceof Error ? (e.stack ?? e.message) : String(e) }, e);
    tell(error.message);
    if (process.connected) process.send?.({ kind: 'failed', message: error.message });
    // The message to the parent leaves before the process does.
    setTimeout(() => process.exit(error.exit), process.connected ? 50 : 0);
    process.exitCode = EXIT_FAILED;
  },
);

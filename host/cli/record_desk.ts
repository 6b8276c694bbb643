import { existsSync } from 'node:fs';
import { userInfo } from 'node:os';
import { resolve } from 'node:path';

import type { Command } from 'commander';

import { systemClock } from '../clock.js';
import { SmallbrakeError, fail } from '../errors.js';
import { actOnRecord, readRecord } from '../serve/records.js';
import type { RecordRoute } from '../serve/records.js';
import type { Desk } from '../serve/record_acts.js';
import { onLedger } from '../serve/runs.js';
import { WatchDesk } from '../serve/watch_desk.js';
import { onWatch } from '../serve/watch_routes.js';
import type { LedgerRoute } from '../serve/runs.js';
import { openStore } from '../store/open.js';
import { askDaemon, daemonUrl } from './daemon_client.js';
import { addressBeside } from './doctor/ask_daemon.js';
import { benchFile, dataFolder, demoFile } from './places.js';
import { DEFAULT_LISTEN } from './values.js';

export interface RecordOptions {
  readonly listen?: string;
  readonly db?: string;
}

export function addRecordOptions(command: Command): Command {
  return command
    .option('--listen <host:port>', `where the daemon serves (default: ${DEFAULT_LISTEN})`)
    .option('--db <file>', 'the record; its daemon is asked if one runs, else the file is opened');
}

/**
 * One writer to a file: the daemon does it where one runs, else this process does, under the file's lock.
 * @param body null: read
 * @throws NO_DAEMON, FILE_IN_USE, CANNOT_READ, and what the record answers
 */
export function onRecord<T>(options: RecordOptions, route: RecordRoute, body: object | null): Promise<T> {
  return onDesk<T>(options, route, body, (desk) => (body === null ? readRecord(desk, route) : actOnRecord(desk, route, body)));
}

/** The same for runs, marks and builds. */
export function onLedgerOf<T>(options: RecordOptions, route: LedgerRoute, body: object | null): Promise<T> {
  return onDesk<T>(options, route, body, (desk) => onLedger(desk, route, body));
}

/** The same for the watch; on a file alone nothing is looked at. */
export function onWatchOf<T>(options: RecordOptions, body: object | null): Promise<T> {
  return onDesk<T>(options, 'watch', body, ({ store, author: by }) => onWatch(new WatchDesk({ store, clock: systemClock, bench: null, author: by }), body));
}

async function onDesk<T>(options: RecordOptions, route: string, body: object | null, work: (desk: Desk) => unknown): Promise<T> {
  const db = options.db === undefined ? null : resolve(options.db);
  try {
    return await askDaemon<T>(daemonUrl(options.listen, db), `api/${route}`, body ?? undefined);
  } catch (thrown) {
    if (!(thrown instanceof SmallbrakeError) || thrown.code !== 'NO_DAEMON' || options.listen !== undefined) throw thrown;
  }
  return onFile(db ?? recordHere(), work) as T;
}

/** The file of the record: as told, or that whose daemon runs, or the one here. */
export function fileOf(options: RecordOptions): string {
  if (options.db !== undefined) return resolve(options.db);
  const folder = dataFolder(process.env);
  return [benchFile(folder), demoFile(folder)].find((file) => addressBeside(file) !== null) ?? recordHere();
}

function onFile(file: string, work: (desk: Desk) => unknown): unknown {
  if (!existsSync(file)) throw fail('CANNOT_READ', { file, reason: 'there is no such file' });
  const store = openStore(file, { clock: systemClock });
  try {
    return work({ store, author: author(), now_us: () => systemClock.wall_us() });
  } finally {
    store.close();
  }
}

function recordHere(): string {
  const folder = dataFolder(process.env);
  return existsSync(benchFile(folder)) ? benchFile(folder) : demoFile(folder);
}

function author(): string {
  try {
    return userInfo().username;
  } catch {
    return 'unknown';
  }
}

export const collect = (value: string, before: string[]): string[] => [...before, value];

/** @throws WRONG_USE */
export function idOf(word: string): number {
  if (/^[1-9]\d{0,9}$/.test(word)) return Number(word);
  throw fail('WRONG_USE', { word, why: 'must be the number of one, as the list has it' });
}

import type { Database } from 'better-sqlite3';

import { fail } from '../errors.js';

/** 'SMBR': what file(1) and this program know a record by. */
export const APPLICATION_ID = 0x534d4252;

/** The longest that a foreign lock may hold up the daemon's only thread. */
export const BUSY_ms = 100;

/**
 * Every setting that holds for a connection and not for the file, so each open sets
 * it; and none is believed, because SQLite answers a pragma that it could not obey
 * (WAL on a network folder) with the old value and no error.
 *
 * synchronous NORMAL: a power cut can take the last committed batches with it, never
 * more, and never harms the file; FULL would cost an fsync four times a second.
 */
const wanted: readonly (readonly [pragma: string, set: string | number, read: string | number])[] = [
  ['busy_timeout', BUSY_ms, BUSY_ms],
  ['journal_mode', 'WAL', 'wal'],
  ['synchronous', 'NORMAL', 1],
  ['wal_autocheckpoint', 1000, 1000],
  // Without it a log that once grew keeps its size for ever.
  ['journal_size_limit', 4_194_304, 4_194_304],
  ['foreign_keys', 'ON', 1],
  // Temporary files would go to another disk, which may be smaller and full.
  ['temp_store', 'MEMORY', 2],
  ['trusted_schema', 'OFF', 0],
];

/** @throws FILE_UNFIT when SQLite did not take a setting */
export function setPragmas(db: Database, path: string): void {
  for (const [pragma, set, read] of wanted) {
    db.pragma(`${pragma} = ${set}`);
    const found = db.pragma(pragma, { simple: true }) as string | number;
    if (found !== read) throw fail('FILE_UNFIT', { path, pragma, found, wanted: read });
  }
}

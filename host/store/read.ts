import DatabaseFile from 'better-sqlite3';
import { existsSync, realpathSync } from 'node:fs';

import type { Clock } from '../clock.js';
import { fail } from '../errors.js';
import { Builds } from './ledger/builds.js';
import { demandOurs } from './migrate.js';
import { SCHEMA_VERSION } from './migrations/index.js';
import { BUSY_ms } from './pragmas.js';
import { rawHash } from './raw_hash.js';
import type { RawHash } from './raw_hash.js';
import { Readers } from './readers.js';
import { Records } from './records/index.js';
import { Reductions } from './runs/reductions.js';
import { Runs } from './runs/runs.js';
import { recordReach, spansBetween } from './runs/spans.js';
import type { ClosedSpan } from './runs/spans.js';
import { TakenPoints } from './runs/taken.js';
import { Spans } from './span.js';
import { WatchLog } from './watch/log.js';

/** A record that another process may be writing: what takes seconds to work out is worked out here, beside it. */
export interface ReadRecord {
  readonly path: string;
  readonly read: Readers;
  readonly records: Records;
  readonly runs: Runs;
  readonly spans: Spans;
  readonly builds: Builds;
  readonly reductions: Reductions;
  readonly taken: TakenPoints;
  readonly watch: WatchLog;
  /** @see rawHash */
  rawHash(stretches: readonly { readonly boot_id: number; readonly tick_from: number; readonly tick_to: number }[]): RawHash;
  /** @see spansBetween in runs/spans.ts */
  spansBetween(rig_id: number, from_us: number, to_us: number): ClosedSpan[];
  /** From the first row of a rig to the last, in UTC; null: nothing is recorded. */
  recordReach(rig_id: number): { readonly from_us: number; readonly to_us: number } | null;
  close(): void;
}

/** @throws CANNOT_READ, FILE_NOT_OURS, FILE_NEWER, FILE_OLDER */
export function openToRead(file: string, clock: Clock): ReadRecord {
  if (!existsSync(file)) throw fail('CANNOT_READ', { file, reason: 'there is no such file' });
  const path = realpathSync(file);
  const db = new DatabaseFile(path, { readonly: true, fileMustExist: true, timeout: BUSY_ms });
  try {
    demandOurs(db, path);
    const version = db.pragma('user_version', { simple: true }) as number;
    if (version < SCHEMA_VERSION) throw fail('FILE_OLDER', { path, found: version, known: SCHEMA_VERSION });
    const records = new Records(db, clock);
    return { path, read: new Readers(db), records, runs: new Runs(db, clock), spans: new Spans(db, records), builds: new Builds(db, clock), reductions: new Reductions(db, clock), taken: new TakenPoints(db, clock), watch: new WatchLog(db, clock), rawHash: (stretches) => rawHash(db, stretches),
      spansBetween: (rig_id, from_us, to_us) => spansBetween(db, rig_id, from_us, to_us),
      recordReach: (rig_id) => recordReach(db, rig_id),
      close: () => db.close(),
    };
  } catch (thrown) {
    db.close();
    throw thrown;
  }
}

import DatabaseFile from 'better-sqlite3';
import type { Database } from 'better-sqlite3';
import { existsSync, mkdirSync, realpathSync } from 'node:fs';
import { dirname, resolve } from 'node:path';

import { SmallbrakeError, fail, reasonOf } from '../errors.js';
import { takeLockFile } from '../lock_file.js';
import { demandOurs, migrate } from './migrate.js';
import { BUSY_ms, setPragmas } from './pragmas.js';
import { Store } from './store.js';
import type { WriterOptions } from './writer_terms.js';

export interface StoreOptions extends WriterOptions {
  /** What the file is wanted for, when that is known already: a file of the other kind is refused before any board is asked. */
  readonly simulated?: boolean;
}

/**
 * Opens the record, or begins one; makes its folder.
 * @throws FILE_NOT_OURS, FILE_NEWER, FILE_READ_ONLY, FILE_IN_USE, FILE_UNFIT,
 *   FILE_DAMAGED, FILE_IS_REAL, FILE_IS_SIMULATED: each in one sentence, and the file is as it was
 */
export function openStore(file: string, options: StoreOptions): Store {
  const path = existsSync(file) ? realpathSync(file) : resolve(file);
  const release = lock(path);
  let db: Database | null = null;
  let store: Store | null = null;
  try {
    db = new DatabaseFile(path, { timeout: BUSY_ms });
    demandOurs(db, path);
    // Pages that retention frees later can only be given back if this is set before the first table.
    db.pragma('auto_vacuum = INCREMENTAL');
    setPragmas(db, path);
    migrate(db);
    store = new Store(db, release, options);
    if (options.simulated !== undefined) store.demandOrigin(options.simulated);
    return store;
  } catch (thrown) {
    if (store !== null) store.close();
    else {
      db?.close();
      release();
    }
    throw told(thrown, path);
  }
}

function lock(path: string): () => void {
  let attempt;
  try {
    mkdirSync(dirname(path), { recursive: true });
    attempt = takeLockFile(`${path}.lock`);
  } catch (thrown) {
    throw fail('FILE_READ_ONLY', { path, reason: reasonOf(thrown) }, thrown);
  }
  if (!attempt.taken) throw fail('FILE_IN_USE', { path, pid: attempt.pid ?? 'unknown' });
  return attempt.release;
}

/** SQLite's error in the words of the one table. */
function told(thrown: unknown, path: string): unknown {
  if (thrown instanceof SmallbrakeError) return thrown;
  const code = String((thrown as { code?: unknown }).code);
  const reason = reasonOf(thrown);
  if (code.startsWith('SQLITE_NOTADB')) return fail('FILE_NOT_OURS', { path, why: 'not an SQLite file' }, thrown);
  if (code.startsWith('SQLITE_CORRUPT')) return fail('FILE_DAMAGED', { path, reason }, thrown);
  if (code.startsWith('SQLITE_BUSY') || code.startsWith('SQLITE_LOCKED')) return fail('FILE_IN_USE', { path, pid: 'unknown' }, thrown);
  if (/^SQLITE_(READONLY|CANTOPEN|FULL|IOERR|PERM|AUTH)/.test(code)) return fail('FILE_READ_ONLY', { path, reason }, thrown);
  return thrown;
}

import type { Database } from 'better-sqlite3';

import { SmallbrakeError, fail, reasonOf } from '../../errors.js';
import { isDiskTrouble } from '../trouble.js';

/** What every kept row has besides: who said it, when by the host's clock, and whether it was taken back. */
export interface Kept {
  readonly made_utc_us: number;
  readonly author: string;
  readonly retired_utc_us: number | null;
  readonly retired_remark: string | null;
}

/** Whoever it is; the program does not know people. */
export type Told<T> = T & { readonly author: string };

/** One transaction, done or not done; what SQLite says against it in the words of the one table. @throws RECORD_REFUSED, FILE_READ_ONLY */
export function keep<T>(db: Database, write: () => T): T {
  try {
    return db.transaction(write).immediate();
  } catch (thrown) {
    if (thrown instanceof SmallbrakeError) throw thrown;
    const code = String((thrown as { code?: unknown }).code);
    if (code.startsWith('SQLITE_BUSY') || code.startsWith('SQLITE_LOCKED')) throw fail('FILE_IN_USE', { path: db.name, pid: 'unknown' }, thrown);
    if (isDiskTrouble(thrown) || code.startsWith('SQLITE_READONLY')) throw fail('FILE_READ_ONLY', { path: db.name, reason: reasonOf(thrown) }, thrown);
    if (code.startsWith('SQLITE_CONSTRAINT')) throw fail('RECORD_REFUSED', { reason: reasonOf(thrown) }, thrown);
    throw thrown;
  }
}

/** JSON that this program wrote. @throws RECORD_DAMAGED */
export function parsed(text: string, what: string): unknown {
  try {
    return JSON.parse(text) as unknown;
  } catch (thrown) {
    throw fail('RECORD_DAMAGED', { what, reason: reasonOf(thrown) }, thrown);
  }
}

/** Sets once that a row holds no longer. @throws NOT_KEPT, ALREADY_RETIRED */
export function retire(db: Database, table: 'calibration' | 'zero' | 'check_mass' | 'entered', id: string, row: { id: number; utc_us: number; remark: string }): void {
  keep(db, () => {
    const found = db.prepare<[number], { retired_utc_us: number | null }>(`SELECT retired_utc_us FROM ${table} WHERE ${id} = ?`).get(row.id);
    if (found === undefined) throw notKept(db, table, id, row.id);
    if (found.retired_utc_us !== null) throw fail('ALREADY_RETIRED', { what: `${nameOf[table]} ${row.id}` });
    db.prepare(`UPDATE ${table} SET retired_utc_us = @utc_us, retired_remark = @remark WHERE ${id} = @id`).run(row);
  });
}

const nameOf = { calibration: 'Calibration', zero: 'Zero', check_mass: 'Check', entered: 'Entry' } as const;

export function notKept(db: Database, table: keyof typeof nameOf, id: string, asked: number): SmallbrakeError {
  const last = db.prepare<[], { n: number | null }>(`SELECT max(${id}) AS n FROM ${table}`).get()?.n ?? null;
  return fail('NOT_KEPT', { what: nameOf[table], id: asked, known: last === null ? 'none yet' : last === 1 ? 'only 1' : `1 to ${last}` });
}

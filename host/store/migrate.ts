import type { Database } from 'better-sqlite3';

import { fail } from '../errors.js';
import { SCHEMA_VERSION, migrations } from './migrations/index.js';
import { APPLICATION_ID } from './pragmas.js';

/**
 * Reads only: whether this is a record, or may become one.
 * @throws FILE_NOT_OURS, FILE_NEWER
 */
export function demandOurs(db: Database, path: string): void {
  const application = db.pragma('application_id', { simple: true }) as number;
  const version = db.pragma('user_version', { simple: true }) as number;
  const things = db.prepare<[], { n: number }>('SELECT count(*) AS n FROM sqlite_schema').get()?.n ?? 0;
  const blank = application === 0 && version === 0 && things === 0;
  if (!blank && application !== APPLICATION_ID) {
    throw fail('FILE_NOT_OURS', { path, why: `an SQLite file of another program, with ${things} tables and such` });
  }
  if (version > SCHEMA_VERSION) throw fail('FILE_NEWER', { path, found: version, known: SCHEMA_VERSION });
}

/** Brings the file to the schema of this program (or to `last`), each step in a transaction of its own. */
export function migrate(db: Database, last = SCHEMA_VERSION): void {
  const version = db.pragma('user_version', { simple: true }) as number;
  for (const migration of migrations.slice(version, last)) {
    db.transaction(() => {
      db.exec(migration.sql);
      db.pragma(`user_version = ${migration.number}`);
      db.pragma(`application_id = ${APPLICATION_ID}`);
    }).immediate();
  }
}

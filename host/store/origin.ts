import DatabaseFile from 'better-sqlite3';
import { existsSync } from 'node:fs';

import { demandOurs } from './migrate.js';

/**
 * What a file was fixed to hold, without opening it for writing.
 * @throws FILE_NOT_OURS, FILE_NEWER
 */
export function originOf(file: string): 'empty' | 'real' | 'simulated' {
  if (!existsSync(file)) return 'empty';
  const db = new DatabaseFile(file, { readonly: true, fileMustExist: true });
  try {
    demandOurs(db, file);
    const known = db.prepare<[], { n: number }>("SELECT count(*) AS n FROM sqlite_schema WHERE name = 'boot'").get()?.n ?? 0;
    if (known === 0) return 'empty';
    const row = db.prepare<[], { simulated: number }>('SELECT simulated FROM boot LIMIT 1').get();
    return row === undefined ? 'empty' : row.simulated === 1 ? 'simulated' : 'real';
  } finally {
    db.close();
  }
}

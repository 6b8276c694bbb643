import DatabaseFile from 'better-sqlite3';
import { copyFileSync, existsSync, rmSync } from 'node:fs';

export interface StoredRow {
  readonly boot_id: number;
  readonly stream: 'force' | 'edge';
  readonly tick: number;
  readonly text: string;
}

/** The two fast streams as they stand in the record, in the order of their ticks. */
export function storedRows(file: string): StoredRow[] {
  return reading(file, (db) =>
    db
      .prepare<[], StoredRow>(
        `SELECT boot_id, 'force' AS stream, tick, count || ' ' || flags AS text FROM force_raw
         UNION ALL SELECT boot_id, 'edge', tick, '' FROM edge_raw ORDER BY boot_id, tick, stream`,
      )
      .all(),
  );
}

export interface StoredGap {
  readonly boot_id: number;
  readonly stream: string;
  readonly tick_from: number;
  readonly tick_to: number;
  readonly lost: number;
}

export const storedGaps = (file: string): StoredGap[] =>
  reading(file, (db) => db.prepare<[], StoredGap>('SELECT boot_id, stream, tick_from, tick_to, lost FROM gap ORDER BY boot_id, tick_from').all());

export interface StoredBoot {
  readonly boot_id: number;
  readonly rig_id: number;
  readonly board_boot: number;
}

export const storedBoots = (file: string): StoredBoot[] =>
  reading(file, (db) => db.prepare<[], StoredBoot>('SELECT boot_id, rig_id, board_boot FROM boot ORDER BY boot_id').all());

function reading<T>(file: string, read: (db: DatabaseFile.Database) => T): T {
  const db = new DatabaseFile(file, { readonly: true });
  try {
    return read(db);
  } finally {
    db.close();
  }
}

/** Record and log as they lie there, for a look that leaves the originals as they are. */
export function copyRecord(file: string, to: string): string {
  for (const tail of ['', '-wal', '-shm']) rmSync(to + tail, { force: true });
  copyFileSync(file, to);
  if (existsSync(`${file}-wal`)) copyFileSync(`${file}-wal`, `${to}-wal`);
  return to;
}

/** @returns 'ok', or what SQLite found wrong */
export function integrityOf(file: string): string {
  const db = new DatabaseFile(file);
  try {
    const foreign = db.pragma('foreign_key_check') as unknown[];
    return foreign.length > 0 ? `${foreign.length} rows point nowhere` : String(db.pragma('integrity_check', { simple: true }));
  } finally {
    db.close();
  }
}

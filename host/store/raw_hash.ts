import { createHash } from 'node:crypto';

import type { Database } from 'better-sqlite3';

/** In this order; each row as `sqlite3` prints it in its list mode: all columns with | between them, NULL empty, a line a row. */
const TABLES = ['force_raw', 'edge_raw', 'hot_raw', 'water_raw', 'flow_raw', 'mark_raw'] as const;

export interface RawHash {
  readonly sha256: string;
  readonly rows: number;
}

/**
 * SHA-256 over the raw rows of stretches: what a report rests on, so that anybody can see that the record is still the
 * same. The same with plain tools, for each stretch and table in order:
 * `sqlite3 FILE "SELECT * FROM force_raw WHERE boot_id = B AND tick BETWEEN X AND Y ORDER BY tick"`, one after the other into `sha256sum`.
 */
export function rawHash(db: Database, stretches: readonly { readonly boot_id: number; readonly tick_from: number; readonly tick_to: number }[]): RawHash {
  const hash = createHash('sha256');
  let rows = 0;
  for (const { boot_id, tick_from, tick_to } of stretches) {
    for (const table of TABLES) {
      const all = db.prepare<[number, number, number], (number | null)[]>(`SELECT * FROM ${table} WHERE boot_id = ? AND tick BETWEEN ? AND ? ORDER BY tick`).raw(true);
      for (const row of all.iterate(boot_id, Math.ceil(tick_from), Math.floor(tick_to))) {
        hash.update(`${row.map((v) => v ?? '').join('|')}\n`);
        rows++;
      }
    }
  }
  return { sha256: hash.digest('hex'), rows };
}

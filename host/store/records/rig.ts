import type { Database } from 'better-sqlite3';

/** The rig that was seen last, and how far its record goes. */
export interface NewestRig {
  readonly rig_id: number;
  readonly first_boot_id: number;
  readonly last_boot_id: number;
  readonly newest_tick: number;
}

export function newestRig(db: Database): NewestRig | null {
  const sql = `SELECT b.rig_id, (SELECT min(boot_id) FROM boot f WHERE f.rig_id = b.rig_id) AS first_boot_id, b.boot_id AS last_boot_id,
    coalesce((SELECT max(tick_last) FROM tally t WHERE t.boot_id = b.boot_id), b.tick_first) AS newest_tick FROM boot b ORDER BY b.boot_id DESC LIMIT 1`;
  return db.prepare<[], NewestRig>(sql).get() ?? null;
}

/** Where in the record of a rig a moment lies, by its clock map; nulls where it lies in none. */
export function placeAt(db: Database, rig_id: number, utc_us: number): { boot_id: number | null; tick: number | null } {
  const sql = `SELECT m.boot_id, CAST(round(m.tick_from + (? - m.utc_us) / m.us_per_tick) AS INTEGER) AS tick,
      (SELECT max(tick_last) FROM tally t WHERE t.boot_id = m.boot_id) AS last
    FROM clock_map m JOIN boot b ON b.boot_id = m.boot_id WHERE b.rig_id = ? AND m.utc_us <= ? ORDER BY m.boot_id DESC, m.tick_from DESC LIMIT 1`;
  const row = db.prepare<[number, number, number], { boot_id: number; tick: number; last: number | null }>(sql).get(utc_us, rig_id, utc_us);
  return row === undefined || row.last === null || row.tick > row.last ? { boot_id: null, tick: null } : { boot_id: row.boot_id, tick: row.tick };
}

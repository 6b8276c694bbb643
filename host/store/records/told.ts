import type { Database } from 'better-sqlite3';

import type { Clock } from '../../clock.js';
import { sheetOf, sheetRows } from '../../sense/sheet.js';
import type { Sheet, SheetName } from '../../sense/sheet.js';
import { keep, notKept, retire } from './kept.js';
import type { Kept } from './kept.js';
import { Prepared } from './prepared.js';

/** One telling of a value of the rig sheet; value null: back to the preset. */
export interface SheetTelling {
  readonly told_id: number;
  readonly rig_id: number;
  readonly name: SheetName;
  readonly value: number | null;
  readonly made_utc_us: number;
  readonly author: string;
  readonly remark: string;
}

/** What was read off another instrument and typed in. */
export interface Entry {
  readonly entered_id: number;
  readonly rig_id: number;
  readonly name: string;
  readonly value: number;
  /** Standard uncertainty, in the unit. */
  readonly u: number;
  readonly unit: string;
  /** When it applied. */
  readonly utc_us: number;
  /** The same in the record, where it lies in one. */
  readonly boot_id: number | null;
  readonly tick: number | null;
  readonly remark: string;
}
export type KeptEntry = Entry & Kept;
export type EntryDraft = Omit<Entry, 'entered_id'> & { readonly author: string };

/** What was told by people: the rig sheet and entered quantities. Rows are added, the last one holds. */
export class ToldValues {
  readonly #db: Database;
  readonly #prepared: Prepared;
  readonly #clock: Clock;

  constructor(db: Database, clock: Clock) {
    this.#db = db;
    this.#prepared = new Prepared(db);
    this.#clock = clock;
  }

  /** The sheet as it holds now: presets, with what was told. */
  sheet(rig_id: number): Sheet {
    const told = new Map<SheetName, number | null>();
    // What an edition of this program with other names was told is passed over.
    for (const { name, value } of this.sheetHistory(rig_id)) if (name in sheetRows) told.set(name, value);
    return sheetOf(Object.fromEntries([...told].filter(([, value]) => value !== null)));
  }

  /** All that was ever told, oldest first. */
  sheetHistory(rig_id: number): SheetTelling[] {
    return this.#prepared.of<[number], SheetTelling>('SELECT * FROM rig_sheet WHERE rig_id = ? ORDER BY told_id').all(rig_id);
  }

  /** @param telling already within the limits of sheetRows; @throws RECORD_REFUSED, FILE_READ_ONLY */
  tellSheet(telling: Omit<SheetTelling, 'told_id' | 'made_utc_us'>): SheetTelling {
    const row = { ...telling, made_utc_us: Math.round(this.#clock.wall_us()) };
    const { lastInsertRowid } = keep(this.#db, () =>
      this.#db.prepare('INSERT INTO rig_sheet(rig_id, name, value, made_utc_us, author, remark) VALUES (@rig_id, @name, @value, @made_utc_us, @author, @remark)').run(row),
    );
    return { told_id: Number(lastInsertRowid), ...row };
  }

  /** @throws RECORD_REFUSED, FILE_READ_ONLY */
  enter(draft: EntryDraft): KeptEntry {
    const made_utc_us = Math.round(this.#clock.wall_us());
    const { lastInsertRowid } = keep(this.#db, () =>
      this.#db
        .prepare(
          `INSERT INTO entered(rig_id, name, value, u, unit, utc_us, boot_id, tick, made_utc_us, author, remark)
           VALUES (@rig_id, @name, @value, @u, @unit, @utc_us, @boot_id, @tick, @made_utc_us, @author, @remark)`,
        )
        .run({ ...draft, made_utc_us }),
    );
    return this.getEntry(Number(lastInsertRowid));
  }

  /** @throws NOT_KEPT */
  getEntry(entered_id: number): KeptEntry {
    const row = this.#db.prepare<[number], KeptEntry>('SELECT * FROM entered WHERE entered_id = ?').get(entered_id);
    if (row === undefined) throw notKept(this.#db, 'entered', 'entered_id', entered_id);
    return row;
  }

  /** By when they applied, those taken back too. */
  entries(rig_id: number, name?: string): KeptEntry[] {
    const where = name === undefined ? 'rig_id = ?' : 'rig_id = ? AND name = ?';
    return this.#db.prepare<(number | string)[], KeptEntry>(`SELECT * FROM entered WHERE ${where} ORDER BY utc_us, entered_id`).all(rig_id, ...(name === undefined ? [] : [name]));
  }

  /** The last that applied at or before that time and stands. */
  entryAt(rig_id: number, name: string, utc_us: number): KeptEntry | null {
    const sql = 'SELECT * FROM entered WHERE rig_id = ? AND name = ? AND retired_utc_us IS NULL AND utc_us <= ? ORDER BY utc_us DESC, entered_id DESC LIMIT 1';
    return this.#prepared.of<[number, string, number], KeptEntry>(sql).get(rig_id, name, utc_us) ?? null;
  }

  /** @throws NOT_KEPT, ALREADY_RETIRED, FILE_READ_ONLY */
  retireEntry(entered_id: number, remark: string): KeptEntry {
    retire(this.#db, 'entered', 'entered_id', { id: entered_id, utc_us: Math.round(this.#clock.wall_us()), remark });
    return this.getEntry(entered_id);
  }
}

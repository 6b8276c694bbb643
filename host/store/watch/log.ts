import type { Database } from 'better-sqlite3';

import type { Clock } from '../../clock.js';
import { keep } from '../records/kept.js';

/** One change of an alarm, as it is kept. */
export interface AlarmRow {
  readonly event_id: number;
  readonly alarm_id: number;
  readonly name: string;
  readonly cause: 'engine' | 'instrument';
  readonly change: 'raised' | 'rose' | 'gone' | 'back' | 'acknowledged' | 'muted' | 'unmuted' | 'cleared';
  readonly level: 'warn' | 'alarm';
  readonly utc_us: number;
  readonly boot_id: number | null;
  readonly tick: number | null;
  readonly value: number | null;
  readonly limit_value: number | null;
  readonly unit: string;
  readonly says: string;
  /** Who acknowledged or muted. */
  readonly author: string | null;
}

/** One telling of a limit; value null: back to the preset. */
export interface LimitTelling {
  readonly told_id: number;
  readonly rig_id: number;
  readonly name: string;
  readonly value: number | null;
  readonly made_utc_us: number;
  readonly author: string;
  readonly remark: string;
}

/** What the watch said and was told. Rows are added, none is ever changed. */
export class WatchLog {
  readonly #db: Database;
  readonly #clock: Clock;

  constructor(db: Database, clock: Clock) {
    this.#db = db;
    this.#clock = clock;
  }

  /** One transaction for all. @throws FILE_READ_ONLY, FILE_IN_USE, RECORD_REFUSED */
  add(rows: readonly Omit<AlarmRow, 'event_id'>[]): void {
    if (rows.length === 0) return;
    keep(this.#db, () => {
      const insert = this.#db.prepare(
        `INSERT INTO alarm(alarm_id, name, cause, change, level, utc_us, boot_id, tick, value, limit_value, unit, says, author)
         VALUES (@alarm_id, @name, @cause, @change, @level, @utc_us, @boot_id, @tick, @value, @limit_value, @unit, @says, @author)`,
      );
      for (const row of rows) insert.run(row);
    });
  }

  /** All changes of those alarms that were never cleared, oldest first. */
  open(): AlarmRow[] {
    return this.#db
      .prepare<[], AlarmRow>(`SELECT * FROM alarm a WHERE NOT EXISTS (SELECT 1 FROM alarm c WHERE c.alarm_id = a.alarm_id AND c.change = 'cleared') ORDER BY event_id`)
      .all();
  }

  /** Newest first. */
  changes(limit: number): AlarmRow[] {
    return this.#db.prepare<[number], AlarmRow>('SELECT * FROM alarm ORDER BY event_id DESC LIMIT ?').all(limit);
  }

  next_id(): number {
    return (this.#db.prepare<[], { n: number | null }>('SELECT max(alarm_id) AS n FROM alarm').get()?.n ?? 0) + 1;
  }

  /** All that was ever told of the limits of a rig, oldest first. */
  limits(rig_id: number): LimitTelling[] {
    return this.#db.prepare<[number], LimitTelling>('SELECT * FROM watch_limit WHERE rig_id = ? ORDER BY told_id').all(rig_id);
  }

  /** All or none. @throws FILE_READ_ONLY, FILE_IN_USE, RECORD_REFUSED */
  tellLimits(tellings: readonly Omit<LimitTelling, 'told_id' | 'made_utc_us'>[]): void {
    const made_utc_us = Math.round(this.#clock.wall_us());
    keep(this.#db, () => {
      const insert = this.#db.prepare('INSERT INTO watch_limit(rig_id, name, value, made_utc_us, author, remark) VALUES (@rig_id, @name, @value, @made_utc_us, @author, @remark)');
      for (const telling of tellings) insert.run({ ...telling, made_utc_us });
    });
  }
}

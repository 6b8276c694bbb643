import type { Database } from 'better-sqlite3';

import type { Clock } from '../../clock.js';
import { fail } from '../../errors.js';
import { keep } from '../records/kept.js';

export interface TakenDraft {
  readonly boot_id: number;
  readonly tick_from: number;
  readonly tick_to: number;
  readonly reason: string;
  readonly author: string;
}
export interface Taken extends TakenDraft {
  readonly taken_id: number;
  readonly made_utc_us: number;
  readonly retired_utc_us: number | null;
}

/** Stretches that a person took for a point, whatever the gate said. Taken back, they stay in the file. */
export class TakenPoints {
  readonly #db: Database;
  readonly #clock: Clock;

  constructor(db: Database, clock: Clock) {
    this.#db = db;
    this.#clock = clock;
  }

  /** @throws RECORD_REFUSED, FILE_READ_ONLY */
  keep(draft: TakenDraft): Taken {
    return keep(this.#db, () => {
      const { lastInsertRowid } = this.#db
        .prepare('INSERT INTO point_taken(boot_id, tick_from, tick_to, reason, made_utc_us, author) VALUES (@boot_id, @tick_from, @tick_to, @reason, @made_utc_us, @author)')
        .run({ ...draft, made_utc_us: Math.round(this.#clock.wall_us()) });
      return this.#get(Number(lastInsertRowid));
    });
  }

  /** @throws NOT_KEPT, ALREADY_RETIRED, FILE_READ_ONLY */
  retire(taken_id: number): Taken {
    return keep(this.#db, () => {
      if (this.#get(taken_id).retired_utc_us !== null) throw fail('ALREADY_RETIRED', { what: `Taken point ${taken_id}` });
      this.#db.prepare('UPDATE point_taken SET retired_utc_us = ? WHERE taken_id = ?').run(Math.round(this.#clock.wall_us()), taken_id);
      return this.#get(taken_id);
    });
  }

  /** Those that hold and lie wholly in a stretch, in order. */
  within({ boot_id, tick_from, tick_to }: Pick<TakenDraft, 'boot_id' | 'tick_from' | 'tick_to'>): Taken[] {
    return this.#db
      .prepare<[number, number, number], Taken>('SELECT * FROM point_taken WHERE boot_id = ? AND tick_from >= ? AND tick_to <= ? AND retired_utc_us IS NULL ORDER BY tick_from, taken_id')
      .all(boot_id, tick_from, tick_to);
  }

  #get(taken_id: number): Taken {
    const row = this.#db.prepare<[number], Taken>('SELECT * FROM point_taken WHERE taken_id = ?').get(taken_id);
    if (row !== undefined) return row;
    const last = this.#db.prepare<[], { n: number | null }>('SELECT max(taken_id) AS n FROM point_taken').get()?.n ?? null;
    throw fail('NOT_KEPT', { what: 'Taken point', id: taken_id, known: last === null ? 'none yet' : `1 to ${last}` });
  }
}

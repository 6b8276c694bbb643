import type { Database } from 'better-sqlite3';

import type { Clock } from '../../clock.js';
import { fail } from '../../errors.js';
import { keep, parsed } from '../records/kept.js';

/** One change of something that people said. */
export interface Change<State> {
  readonly change_id: number;
  readonly utc_us: number;
  readonly author: string;
  /** In words. */
  readonly did: string;
  /** How it was until then. */
  readonly before: State;
  /** The change that this one took back. */
  readonly undoes: number | null;
}

/** What may be changed, with every state that it ever had. */
export class History<State> {
  readonly #db: Database;
  readonly #clock: Clock;
  readonly #table: string;
  readonly #id: string;
  readonly #read: (id: number) => State;
  readonly #write: (id: number, state: State) => void;

  /** @param read the state as it is; @param write makes it so. Both within the transaction of a change */
  constructor(db: Database, clock: Clock, table: 'run' | 'mark_note' | 'build', id: string, read: (id: number) => State, write: (id: number, state: State) => void) {
    this.#db = db;
    this.#clock = clock;
    this.#table = `${table}_history`;
    this.#id = id;
    this.#read = read;
    this.#write = write;
  }

  /** One transaction. @throws RECORD_REFUSED, FILE_READ_ONLY, and what `to` throws: nothing is changed then */
  change(id: number, did: string, author: string, to: (before: State) => State): void {
    keep(this.#db, () => {
      const before = this.#read(id);
      this.#write(id, to(before));
      this.#note(id, did, author, before, null);
    });
  }

  /** Takes the last change back that still stands, and tells it. @throws RECORD_REFUSED where there is none */
  undo(id: number, author: string): Change<State> {
    return keep(this.#db, () => {
      const all = this.list(id);
      const undone = new Set(all.map((c) => c.undoes));
      const last = all.findLast((c) => c.undoes === null && !undone.has(c.change_id));
      if (last === undefined) throw fail('RECORD_REFUSED', { reason: 'there is no change that could be taken back' });
      const before = this.#read(id);
      this.#write(id, last.before);
      this.#note(id, `took back: ${last.did}`, author, before, last.change_id);
      return last;
    });
  }

  /** Oldest first. */
  list(id: number): Change<State>[] {
    const sql = `SELECT change_id, utc_us, author, did, before, undoes FROM ${this.#table} WHERE ${this.#id} = ? ORDER BY change_id`;
    return this.#db
      .prepare<[number], Omit<Change<State>, 'before'> & { before: string }>(sql)
      .all(id)
      .map((row) => ({ ...row, before: parsed(row.before, `change ${row.change_id}`) as State }));
  }

  #note(id: number, did: string, author: string, before: State, undoes: number | null): void {
    this.#db
      .prepare(`INSERT INTO ${this.#table}(${this.#id}, utc_us, author, did, before, undoes) VALUES (?, ?, ?, ?, ?, ?)`)
      .run(id, Math.round(this.#clock.wall_us()), author, did, JSON.stringify(before), undoes);
  }
}

import type { Database, Statement } from 'better-sqlite3';

/** Statements by their text, made once: what is in force is asked for twice a second, and making one costs more than running it. */
export class Prepared {
  readonly #db: Database;
  readonly #made = new Map<string, Statement>();

  constructor(db: Database) {
    this.#db = db;
  }

  of<Bind extends unknown[], Row>(sql: string): Statement<Bind, Row> {
    const made = this.#made.get(sql) ?? this.#db.prepare(sql);
    this.#made.set(sql, made);
    return made as unknown as Statement<Bind, Row>;
  }
}

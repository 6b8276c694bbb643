import type { Database, Statement } from 'better-sqlite3';

import type { ClockMapPiece, DatedMessage, Gap } from '../link/dated.js';
import { reasonOf } from '../errors.js';
import { isStored, perStream, prepareInserts } from './row_inserts.js';
import type { Insert, StoredMessage, StoredStream } from './row_inserts.js';
import { troubleOf } from './trouble.js';

/** What the writer is handed: what the road forks on. */
export type Recorded = DatedMessage | Gap | ClockMapPiece;

/** Messages that the queue had to let go, of one boot and stream. */
export interface LetGo {
  readonly boot_id: number;
  readonly stream: Gap['stream'];
  tick_from: number;
  tick_to: number;
  lost: number;
}

interface Tally {
  readonly boot_id: number;
  readonly stream: StoredStream;
  rows: number;
  duplicates: number;
  tick_last: number;
}

export interface BatchResult {
  readonly rows: Record<StoredStream, number>;
  /** Rows whose (boot_id, tick) was there already: the first one stays. */
  duplicates: number;
  /** Rows that the schema refused. */
  refused: number;
  refusal: string | null;
}

/** The prepared statements, made once; every call must be inside one transaction. */
export class Rows {
  readonly #insert: Insert;
  readonly #gap: Statement;
  readonly #piece: Statement;
  readonly #tally: Statement;

  constructor(db: Database) {
    this.#insert = prepareInserts(db);
    this.#gap = db.prepare(
      `INSERT INTO gap(boot_id, stream, tick_from, cause, tick_to, lost) VALUES (?, ?, ?, ?, ?, ?)
       ON CONFLICT(boot_id, stream, tick_from, cause) DO NOTHING`,
    );
    // A piece is derived, not raw: a better one for the same tick takes its place.
    this.#piece = db.prepare(
      `INSERT INTO clock_map(boot_id, tick_from, utc_us, us_per_tick, u_us, u_ppm) VALUES (?, ?, ?, ?, ?, ?)
       ON CONFLICT(boot_id, tick_from) DO UPDATE SET utc_us = excluded.utc_us, us_per_tick = excluded.us_per_tick, u_us = excluded.u_us, u_ppm = excluded.u_ppm`,
    );
    this.#tally = db.prepare(
      `INSERT INTO tally(boot_id, stream, rows, duplicates, tick_last) VALUES (?, ?, ?, ?, ?)
       ON CONFLICT(boot_id, stream) DO UPDATE SET rows = rows + excluded.rows, duplicates = duplicates + excluded.duplicates,
         tick_last = max(tick_last, excluded.tick_last)`,
    );
  }

  /** Writes all of them; one that the schema refuses is counted and left out, any other error ends the batch. */
  write(items: Iterable<Recorded>, letGo: Iterable<LetGo>): BatchResult {
    const result: BatchResult = { rows: perStream(() => 0), duplicates: 0, refused: 0, refusal: null };
    const tallies = new Map<string, Tally>();
    for (const g of letGo) {
      this.#guarded(result, () => this.#gap.run(g.boot_id, g.stream, g.tick_from, 'queue', g.tick_to, g.lost));
    }
    for (const item of items) this.#guarded(result, () => this.#one(item, result, tallies));
    for (const t of tallies.values()) this.#tally.run(t.boot_id, t.stream, t.rows, t.duplicates, t.tick_last);
    return result;
  }

  #guarded(result: BatchResult, action: () => void): void {
    try {
      action();
    } catch (thrown) {
      if (troubleOf(thrown) !== 'row') throw thrown;
      result.refused++;
      result.refusal = reasonOf(thrown);
    }
  }

  #one(item: Recorded, result: BatchResult, tallies: Map<string, Tally>): void {
    if ('message' in item) {
      if (isStored(item.message.name)) this.#message(item.boot_id, item.tick, item.message as StoredMessage, result, tallies);
    } else if ('lost' in item) {
      const { changes } = this.#gap.run(item.boot_id, item.stream, item.tick_from, 'sequence', item.tick_to, item.lost);
      if (changes === 0) result.duplicates++;
    } else this.#piece.run(item.boot_id, item.tick_from, Math.round(item.utc_us), item.us_per_tick, item.u_us, item.u_ppm ?? null);
  }

  #message(boot_id: number, tick: number, message: StoredMessage, result: BatchResult, tallies: Map<string, Tally>): void {
    const { changes } = this.#insert(boot_id, tick, message);
    if (changes === 0) result.duplicates++;
    result.rows[message.name] += changes;
    const key = `${message.name}${boot_id}`;
    const tally = tallies.get(key);
    if (tally === undefined) {
      tallies.set(key, { boot_id, stream: message.name, rows: changes, duplicates: 1 - changes, tick_last: tick });
    } else {
      tally.rows += changes;
      tally.duplicates += 1 - changes;
      tally.tick_last = Math.max(tally.tick_last, tick);
    }
  }
}

import type { Database } from 'better-sqlite3';
import { dirname } from 'node:path';

import type { Clock } from '../clock.js';
import { fail, reasonOf } from '../errors.js';
import type { SmallbrakeError } from '../errors.js';
import type { ClockMapPiece, DatedMessage, Gap } from '../link/dated.js';
import type { Boots } from './boots.js';
import { MB, freeBytes } from './disk.js';
import { LetGoes } from './let_go.js';
import { Ring } from './ring.js';
import { isStored, perStream, storedStreams } from './row_inserts.js';
import { Rows } from './rows.js';
import type { BatchResult, Recorded } from './rows.js';
import { troubleOf } from './trouble.js';
import { writerLimits } from './writer_terms.js';
import type { RecordState, WriterLimits, WriterOptions, WriterTotals } from './writer_terms.js';

/**
 * The only writer of a record. Takes rows as they come, commits them in one
 * IMMEDIATE transaction per batch, and never throws at whoever hands it a row: what
 * cannot be written waits in a bounded queue, is tried again, and is counted and
 * recorded as a gap if it had to be let go.
 */
export class Writer {
  readonly #db: Database;
  readonly #boots: Boots;
  readonly #rows: Rows;
  readonly #clock: Clock;
  readonly #options: WriterOptions;
  readonly #limits: WriterLimits;
  readonly #queue: Ring<Recorded>;
  readonly #letGo = new LetGoes();
  readonly #commit: (n: number) => BatchResult;
  readonly #total = { rows: perStream(() => 0), duplicates: 0, refused: 0, batches: 0, failures: 0 };
  #cancelBatch: (() => void) | null = null;
  #cancelSpace: () => void = () => undefined;
  #held: SmallbrakeError | null = null;
  #retryAt_us = 0;
  #free_bytes: number | null = null;
  #refusal: string | null = null;
  #closed = false;
  #told = '';

  constructor(db: Database, boots: Boots, options: WriterOptions) {
    this.#db = db;
    this.#boots = boots;
    this.#clock = options.clock;
    this.#options = options;
    this.#limits = { ...writerLimits, ...options.limits };
    this.#queue = new Ring(this.#limits.queueRows);
    this.#rows = new Rows(db);
    const transaction = db.transaction((n: number) => {
      boots.writeWaiting();
      return this.#rows.write(this.#oldest(n), this.#letGo.entries());
    });
    // A deferred one that began by reading would fail at once, without waiting for a lock.
    this.#commit = (n) => transaction.immediate(n);
    this.#watchSpace();
  }

  message(dated: DatedMessage): void {
    this.#boots.seen(dated.boot_id, dated.tick);
    if (isStored(dated.message.name)) this.#push(dated);
  }

  gap(gap: Gap): void {
    this.#push(gap);
  }

  mapPiece(piece: ClockMapPiece): void {
    this.#push(piece);
  }

  get state(): RecordState {
    const low = this.#free_bytes !== null && this.#free_bytes < this.#limits.spaceLow_bytes;
    return {
      state: this.#closed ? 'closed' : this.#held !== null ? 'held' : low ? 'low' : 'recording',
      reason: this.#held?.message ?? (low ? `Only ${MB(this.#free_bytes ?? 0)} MB are free on the disk of the record: free some space.` : null),
      free_bytes: this.#free_bytes,
      waiting_rows: this.#queue.size,
      lost_rows: this.#letGo.total,
    };
  }

  get totals(): WriterTotals {
    return { ...this.#total, rows: { ...this.#total.rows }, lost: this.#letGo.total };
  }

  /** What the schema said of the last row that it refused. */
  get refusal(): string | null {
    return this.#refusal;
  }

  /** Commits all that waits. @returns whether nothing waits any more */
  flush(): boolean {
    this.#cancelBatch?.();
    this.#cancelBatch = null;
    while (this.#queue.size > 0 || this.#letGo.size > 0) if (!this.#batch()) break;
    if (this.#queue.size > 0) this.#arm();
    this.#tell();
    return this.#queue.size === 0;
  }

  /** Commits what it can, into the reserve if need be, and takes nothing more. @returns rows that had to be left behind */
  close(): number {
    if (this.#closed) return this.#queue.size;
    this.#held = null;
    this.flush();
    this.#cancelBatch?.();
    this.#cancelSpace();
    this.#closed = true;
    this.#tell();
    return this.#queue.size;
  }

  #push(item: Recorded): void {
    if (this.#closed) return;
    const evicted = this.#queue.push(item);
    if (evicted !== undefined) this.#letGo.add(evicted);
    // A replay is faster than any timer: it must not overrun the queue of a healthy disk.
    if (this.#held === null && this.#queue.size >= this.#limits.batchRows) this.#batch();
    this.#arm();
  }

  #arm(): void {
    if (this.#cancelBatch !== null || this.#closed || (this.#queue.size === 0 && this.#letGo.size === 0)) return;
    const wait_us = this.#held === null ? this.#limits.batch_us : Math.max(0, this.#retryAt_us - this.#clock.monotonic_us());
    this.#cancelBatch = this.#clock.after(wait_us, () => {
      this.#cancelBatch = null;
      if (this.#spaceAllows()) this.#batch();
      this.#tell();
      this.#rearm();
    });
  }

  /** After a long hold the backlog goes batch by batch, with the event loop free in between. */
  #rearm(): void {
    if (this.#held === null && this.#queue.size >= this.#limits.batchRows && this.#cancelBatch === null) {
      this.#cancelBatch = this.#clock.after(0, () => {
        this.#cancelBatch = null;
        this.#batch();
        this.#rearm();
      });
    } else this.#arm();
  }

  #batch(): boolean {
    const n = Math.min(this.#queue.size, this.#limits.batchRows);
    let result: BatchResult;
    try {
      result = this.#commit(n);
    } catch (thrown) {
      this.#total.failures++;
      this.#hold(thrown);
      return false;
    }
    this.#boots.waitingWritten();
    this.#queue.drop(n);
    this.#letGo.clear();
    this.#held = null;
    this.#total.batches++;
    for (const stream of storedStreams) this.#total.rows[stream] += result.rows[stream];
    this.#total.duplicates += result.duplicates;
    this.#total.refused += result.refused;
    this.#refusal = result.refusal ?? this.#refusal;
    this.#options.onCommitted?.(result);
    return true;
  }

  *#oldest(n: number): Iterable<Recorded> {
    for (let i = 0; i < n; i++) {
      const item = this.#queue.at(i);
      if (item !== undefined) yield item;
    }
  }

  #hold(thrown: unknown): void {
    const todo = {
      disk: 'Free some space on the disk of the record.',
      busy: 'Another program holds the file in a transaction: end it there.',
      row: 'Please report this.',
      other: 'Keep the file, and start again with another one.',
    }[troubleOf(thrown)];
    this.#holdFor(reasonOf(thrown), todo);
  }

  #holdFor(reason: string, todo: string): void {
    this.#held = fail('RECORD_HELD', { reason, rows: this.#queue.size, limit: this.#limits.queueRows, todo });
    this.#retryAt_us = this.#clock.monotonic_us() + this.#limits.retry_us;
    this.#tell();
  }

  #spaceAllows(): boolean {
    if (this.#held !== null) this.#readSpace();
    if (this.#free_bytes === null || this.#free_bytes >= this.#limits.spaceReserve_bytes) return true;
    this.#holdFor(
      `${MB(this.#free_bytes)} MB are free on the disk, ${MB(this.#limits.spaceReserve_bytes)} MB are kept to end the record well`,
      'Free some space on the disk of the record.',
    );
    return false;
  }

  #readSpace(): void {
    this.#free_bytes = (this.#options.freeBytes ?? freeBytes)(dirname(this.#db.name));
  }

  #watchSpace(): void {
    this.#readSpace();
    this.#tell();
    this.#cancelSpace = this.#clock.after(this.#limits.spaceEvery_us, () => this.#watchSpace());
  }

  #tell(): void {
    const state = this.state;
    if (state.state === this.#told) return;
    this.#told = state.state;
    this.#options.onState?.(state);
  }
}

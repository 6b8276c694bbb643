import type { Clock } from '../clock.js';
import type { StoredStream } from './row_inserts.js';
import type { BatchResult } from './rows.js';

export interface WriterLimits {
  /** Longest that a row waits for its transaction, in the clock's time. */
  readonly batch_us: number;
  /** Rows in one transaction: what one turn of the event loop can afford (2000 rows: some 6 ms). */
  readonly batchRows: number;
  /** Rows kept in memory while the disk takes none: over three minutes at full rate. */
  readonly queueRows: number;
  /** First to next attempt while the file cannot be written. */
  readonly retry_us: number;
  readonly spaceEvery_us: number;
  /** Below this the user is warned. */
  readonly spaceLow_bytes: number;
  /** Kept free, so that the queue and the log can still be brought home at the end. */
  readonly spaceReserve_bytes: number;
}

export const writerLimits: WriterLimits = {
  batch_us: 250_000,
  batchRows: 2000,
  queueRows: 100_000,
  retry_us: 1_000_000,
  spaceEvery_us: 5_000_000,
  spaceLow_bytes: 200e6,
  spaceReserve_bytes: 16e6,
};

/** recording: rows are committed. low: they are, but the disk fills up. held: they wait in memory. closed: none are taken. */
export interface RecordState {
  readonly state: 'recording' | 'low' | 'held' | 'closed';
  /** What to tell the user; null while all is well. */
  readonly reason: string | null;
  readonly free_bytes: number | null;
  readonly waiting_rows: number;
  readonly lost_rows: number;
}

export interface WriterTotals {
  readonly rows: Record<StoredStream, number>;
  readonly duplicates: number;
  readonly refused: number;
  /** Messages let go because the queue was full while nothing could be written. */
  readonly lost: number;
  readonly batches: number;
  readonly failures: number;
}

export interface WriterOptions {
  readonly clock: Clock;
  readonly limits?: Partial<WriterLimits>;
  /** After each commit, with what it added: what is shown as recorded has been committed. */
  readonly onCommitted?: (batch: Readonly<BatchResult>) => void;
  readonly onState?: (state: RecordState) => void;
  /** For tests. */
  readonly freeBytes?: (folder: string) => number | null;
}

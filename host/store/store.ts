import type { Database } from 'better-sqlite3';

import type { Boot } from '../link/dated.js';
import { Boots } from './boots.js';
import type { BootEvidence } from './boots.js';
import { fileBytes } from './disk.js';
import { Builds } from './ledger/builds.js';
import { Wear } from './ledger/wear.js';
import { Readers } from './readers.js';
import { Records } from './records/index.js';
import { Marks } from './runs/marks.js';
import { Reductions } from './runs/reductions.js';
import { Trials } from './runs/trials.js';
import { Runs } from './runs/runs.js';
import { TakenPoints } from './runs/taken.js';
import { placeAtOrBefore, recordReach, spansBetween } from './runs/spans.js';
import type { ClosedSpan } from './runs/spans.js';
import { Spans } from './span.js';
import { WatchLog } from './watch/log.js';
import { Writer } from './writer.js';
import type { WriterOptions } from './writer_terms.js';

export interface CloseReport {
  /** Rows that could not be written; 0 unless the disk was full to the end. */
  readonly left_rows: number;
  /** Whether the log was brought home. If not, it stays next to the file, nothing is lost, and the next start does it. */
  readonly checkpointed: boolean;
}

/** One record file, open, with this process as its one writer. */
export class Store {
  readonly path: string;
  readonly writer: Writer;
  readonly read: Readers;
  readonly records: Records;
  /** Raw rows of a stretch, as columns. */
  readonly spans: Spans;
  readonly runs: Runs;
  readonly marks: Marks;
  readonly builds: Builds;
  readonly wear: Wear;
  /** What reductions said of runs. */
  readonly reductions: Reductions;
  /** What trials without a shaft said of runs. */
  readonly trials: Trials;
  /** Points that a person took. */
  readonly taken: TakenPoints;
  /** What the watch said, and the limits it was told. */
  readonly watch: WatchLog;
  readonly #db: Database;
  readonly #boots: Boots;
  readonly #release: () => void;
  #report: CloseReport | null = null;

  constructor(db: Database, release: () => void, options: WriterOptions) {
    this.path = db.name;
    this.#db = db;
    this.#release = release;
    this.#boots = new Boots(db, options.clock);
    this.read = new Readers(db);
    this.records = new Records(db, options.clock);
    this.spans = new Spans(db, this.records);
    this.runs = new Runs(db, options.clock);
    this.marks = new Marks(db, options.clock);
    this.builds = new Builds(db, options.clock);
    this.wear = new Wear(db);
    this.reductions = new Reductions(db, options.clock);
    this.trials = new Trials(db, options.clock);
    this.taken = new TakenPoints(db, options.clock);
    this.watch = new WatchLog(db, options.clock);
    this.writer = new Writer(db, this.#boots, options);
  }

  /** @see Boots.bootFor */
  bootFor(evidence: BootEvidence): Boot {
    return this.#boots.bootFor(evidence);
  }

  /** What this file was fixed to hold by its first boot. */
  get origin(): 'empty' | 'real' | 'simulated' {
    return this.#boots.origin();
  }

  /** @throws FILE_IS_REAL or FILE_IS_SIMULATED when the file holds the other kind */
  demandOrigin(simulated: boolean): void {
    this.#boots.demandOrigin(simulated);
  }

  /** Magnets on the shaft of a board's rig; 1 until it was told otherwise. */
  magnets(board_id: number): number {
    return this.#boots.magnets(board_id);
  }

  /** @see Boots.setMagnets */
  setMagnets(board_id: number, magnets: number): void {
    this.#boots.setMagnets(board_id, magnets);
  }

  /** @see spansBetween */
  spansBetween(rig_id: number, from_us: number, to_us: number): ClosedSpan[] {
    return spansBetween(this.#db, rig_id, from_us, to_us);
  }

  /** @see recordReach */
  recordReach(rig_id: number): ReturnType<typeof recordReach> {
    return recordReach(this.#db, rig_id);
  }

  /** @see placeAtOrBefore */
  placeAtOrBefore(rig_id: number, utc_us: number): ReturnType<typeof placeAtOrBefore> {
    return placeAtOrBefore(this.#db, rig_id, utc_us);
  }

  get bytes(): { readonly file: number; readonly log: number } {
    return { file: fileBytes(this.path), log: fileBytes(`${this.path}-wal`) };
  }

  /** Writes what waits, brings the log home, closes, gives the lock back. Never throws; twice does no harm. */
  close(): CloseReport {
    if (this.#report !== null) return this.#report;
    let left_rows = 0;
    let checkpointed = false;
    try {
      left_rows = this.writer.close();
      checkpointed = this.#checkpoint();
    } finally {
      try {
        this.#db.close();
      } catch {
        checkpointed = false;
      }
      this.#release();
    }
    this.#report = { left_rows, checkpointed };
    return this.#report;
  }

  /** A checkpoint that a reader held up says so in its row; it does not throw. */
  #checkpoint(): boolean {
    try {
      const [row] = this.#db.pragma('wal_checkpoint(TRUNCATE)') as { busy: number; log: number; checkpointed: number }[];
      return row?.busy === 0;
    } catch {
      return false;
    }
  }
}

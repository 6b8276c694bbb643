import type { Database, Statement } from 'better-sqlite3';

import { NO_BOARD_ID } from '../../protocol/messages.js';
import { newestRig, placeAt } from './records/rig.js';
import type { NewestRig } from './records/rig.js';
import { perStream } from './row_inserts.js';
import type { StoredStream } from './row_inserts.js';

export interface KnownBoard {
  readonly board_id: number;
  readonly rig_id: number;
  readonly name: string | null;
  readonly magnets: number;
  /** Where it was last found; '' when that was never told. */
  readonly last_path: string;
  readonly simulated: boolean;
  readonly boots: number;
  readonly last_boot_id: number;
}

export interface ForceRow {
  readonly utc_us: number | null;
  readonly boot_id: number;
  readonly tick: number;
  /** null: flagged, so no measurement. */
  readonly count: number | null;
  readonly flags: number;
}

export interface SpeedRow {
  readonly utc_us: number | null;
  readonly boot_id: number;
  readonly tick: number;
  /** null: no whole revolution without a loss lies behind this edge. */
  readonly period_s: number | null;
  readonly speed_rpm: number | null;
}

/** A row of the view of that name, whose comment in the file says what its columns mean. */
export type ViewRow = Readonly<Record<string, number | string | null>>;

/** Streams of which the newest row is read as its view has it. */
const asViewed = { hot: 'hot', water: 'water', flow: 'flow', mark: 'mark', setting: 'setting', status: 'board_status' } as const;
type Viewed = keyof typeof asViewed;

export type LatestRows = { readonly force: ForceRow | null; readonly speed: SpeedRow | null } & { readonly [S in Viewed]: ViewRow | null };

export interface BootSummary {
  readonly boot_id: number;
  /** Board id as it is printed everywhere, such as 00C0-FFEE. */
  readonly board: string;
  readonly board_boot: number;
  /** UTC by the host's clock at the first hello. */
  readonly started: string;
  readonly simulated: number;
  readonly firmware: string;
  readonly reset_cause: string;
  readonly magnets: number;
  readonly rig: string | null;
  readonly force_rows: number;
  readonly edge_rows: number;
  readonly recorded_s: number | null;
  readonly lost: number;
}

export interface StreamCounts {
  readonly rows: number;
  readonly duplicates: number;
}

/** No window is larger: whoever wants more reads the file. */
export const WINDOW_ROWS_MAX = 50_000;

/**
 * Reads of what has been committed. All are bounded and by key range, and none
 * keeps a statement open: a half-read one would hold the log back for ever.
 */
export class Readers {
  readonly #db: Database;
  readonly #force: Statement<[number, number, number], ForceRow>;
  readonly #speed: Statement<[number, number, number], SpeedRow>;
  readonly #viewed: readonly (readonly [Viewed, Statement<[number, number, number], ViewRow>])[];
  readonly #newest: Statement<[number], { n: number | null }>;
  readonly #boots: Statement<[number], BootSummary>;

  constructor(db: Database) {
    this.#db = db;
    const range = 'WHERE boot_id = ? AND tick >= ? ORDER BY tick DESC LIMIT ?';
    this.#force = db.prepare(`SELECT utc_us, boot_id, tick, count, flags FROM force ${range}`);
    this.#speed = db.prepare(`SELECT utc_us, boot_id, tick, period_s, speed_rpm FROM speed ${range}`);
    this.#viewed = (Object.keys(asViewed) as Viewed[]).map((stream) => [stream, db.prepare(`SELECT * FROM ${asViewed[stream]} ${range}`)]);
    this.#newest = db.prepare('SELECT max(tick_last) AS n FROM tally WHERE boot_id = ?');
    this.#boots = db.prepare('SELECT * FROM boots ORDER BY boot_id DESC LIMIT ?');
  }

  /** Rows of the whole file. */
  counts(): Record<StoredStream, StreamCounts> {
    const rows = this.#db
      .prepare<[], StreamCounts & { stream: StoredStream }>('SELECT stream, sum(rows) AS rows, sum(duplicates) AS duplicates FROM tally GROUP BY stream')
      .all();
    return perStream((stream) => {
      const row = rows.find((r) => r.stream === stream);
      return { rows: row?.rows ?? 0, duplicates: row?.duplicates ?? 0 };
    });
  }

  /** Messages that are known to be missing, of the whole file, by stream. */
  lost(): Readonly<Record<string, number>> {
    const rows = this.#db.prepare<[], { stream: string; lost: number }>('SELECT stream, sum(lost) AS lost FROM gap GROUP BY stream').all();
    return Object.fromEntries(rows.map((r) => [r.stream, r.lost]));
  }

  /** The newest committed row of each stream, of the newest boot. */
  latest(): LatestRows {
    const boot_id = this.#newestBoot();
    const newest = <Row>(statement: Statement<[number, number, number], Row>): Row | null => (boot_id === null ? null : (statement.get(boot_id, 0, 1) ?? null));
    const viewed = Object.fromEntries(this.#viewed.map(([stream, statement]) => [stream, newest(statement)])) as Record<Viewed, ViewRow | null>;
    return { force: newest(this.#force), speed: newest(this.#speed), ...viewed };
  }

  /** The last seconds of the newest boot by the board's own clock, oldest first. */
  lastForce(seconds: number): ForceRow[] {
    return this.#window(this.#force, seconds);
  }

  lastSpeed(seconds: number): SpeedRow[] {
    return this.#window(this.#speed, seconds);
  }

  /** Newest first. */
  boots(limit: number): BootSummary[] {
    return this.#boots.all(limit);
  }

  /** Boards with an id that this file has seen, the one seen last first. */
  knownBoards(): KnownBoard[] {
    return this.#db
      .prepare<[number], Omit<KnownBoard, 'simulated'> & { simulated: number }>(
        `SELECT r.board_id, r.rig_id, r.name, r.magnets, coalesce(r.last_port, '') AS last_path, b.simulated,
           count(*) AS boots, max(b.boot_id) AS last_boot_id
         FROM rig r JOIN boot b ON b.rig_id = r.rig_id WHERE r.board_id <> ? GROUP BY r.rig_id ORDER BY last_boot_id DESC`,
      )
      .all(NO_BOARD_ID)
      .map((row) => ({ ...row, simulated: row.simulated === 1 }));
  }

  newestRig(): NewestRig | null {
    return newestRig(this.#db);
  }

  /** @see placeAt */
  placeAt(rig_id: number, utc_us: number): { boot_id: number | null; tick: number | null } {
    return placeAt(this.#db, rig_id, utc_us);
  }

  /** As the view calibrations has them, oldest first. */
  calibrations(rig_id: number): ViewRow[] {
    return this.#db.prepare<[number], ViewRow>('SELECT * FROM calibrations WHERE rig_id = ? ORDER BY cal_id').all(rig_id);
  }

  #newestBoot(): number | null {
    return this.#db.prepare<[], { n: number | null }>('SELECT max(boot_id) AS n FROM boot').get()?.n ?? null;
  }

  #window<Row>(statement: Statement<[number, number, number], Row>, seconds: number): Row[] {
    const boot_id = this.#newestBoot();
    if (boot_id === null) return [];
    const newest = this.#newest.get(boot_id)?.n ?? null;
    const rate = this.#db.prepare<[number], { tick_Hz: number }>('SELECT 1.0 * clock_Hz / cycles_per_tick AS tick_Hz FROM boot WHERE boot_id = ?').get(boot_id);
    if (newest === null || rate === undefined) return [];
    return statement.all(boot_id, Math.max(0, Math.floor(newest - seconds * rate.tick_Hz)), WINDOW_ROWS_MAX).reverse();
  }
}

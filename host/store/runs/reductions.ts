import type { Database } from 'better-sqlite3';

import type { Clock } from '../../clock.js';
import { keep } from '../records/kept.js';
import { columnsOf, usedIn } from './used.js';
import type { UsedColumns } from './used.js';

/** A quantity as it is kept; budget: lines as told() has them. Where value is null, reason says why. */
export interface SaidValue {
  readonly value: number | null;
  readonly u?: number;
  readonly dof?: number | null;
  readonly U95?: number;
  readonly reason?: string | null;
  readonly budget?: readonly unknown[];
}
/** By name with the unit in it. The views have columns for those in POINT_NAMES, CURVE_NAMES and HEAT_NAMES (migrations/ledger/views.ts); others are kept as well. */
export type Said = Readonly<Record<string, SaidValue>>;

/** What a working out rested on, and by whom. */
export interface Used {
  readonly cal_ids: readonly number[];
  readonly zero_ids: readonly number[];
  readonly check_ids: readonly number[];
  readonly entered_ids: readonly number[];
  /** Settings that were not the presets. */
  readonly settings: unknown;
  readonly version: string;
  readonly author: string;
}

export interface Stretch {
  readonly boot_id: number;
  readonly tick_from: number;
  readonly tick_to: number;
}
export interface Judged {
  readonly verified: boolean;
  /** What it lacks for that. */
  readonly why: string | null;
  readonly said: Said;
  /** Whatever else belongs to it, as JSON. */
  readonly more: unknown;
}

export interface PointDraft extends Stretch, Judged {
  readonly branch: string;
  readonly override: string | null;
  readonly revolutions: number;
  readonly discarded: number;
}
export interface CurveDraft extends Judged {
  readonly state: string;
  readonly points: number;
  readonly least_speed_rpm: number;
  readonly most_speed_rpm: number;
}
export interface HeatDraft extends Stretch, Judged {
  readonly fault: string | null;
}
/** Of one run; what is not there is left as it was. */
export interface RunDrafts {
  readonly points?: readonly PointDraft[];
  readonly curve?: CurveDraft;
  readonly heat?: readonly HeatDraft[];
}
export interface VerdictDraft {
  readonly build_a: number;
  readonly build_b: number;
  readonly measure: string;
  readonly word: 'better' | 'worse' | 'same' | 'cannot_tell';
  readonly difference_share: number;
  readonly least_share: number;
  readonly most_share: number;
  readonly margin_share: number;
  readonly runs_a: number;
  readonly runs_b: number;
  readonly look: number;
  readonly needed_runs: number | null;
  readonly run_ids: readonly number[];
  readonly more: unknown;
}

interface Header {
  readonly reduction_id: number;
  readonly used: Used;
  readonly made_utc_us: number;
}
export type Kept<Draft> = Draft & Header & { readonly id: number };

type Kind = 'points' | 'curve' | 'heat' | 'verdict';
export type RunKind = Exclude<Kind, 'verdict'>;

/** A working out of a run that stands. */
export interface Standing {
  readonly reduction_id: number;
  readonly kind: RunKind;
  readonly run_id: number;
  /** As it was kept. */
  readonly settings: unknown;
  /** Points or balances; 1 for a curve. */
  readonly rows: number;
  /** A calibration that it used was corrected or retired since. */
  readonly stale: boolean;
}
interface HeaderRow extends UsedColumns {
  readonly reduction_id: number;
  readonly made_utc_us: number;
}
const tables = {
  points: { table: 'point', id: 'point_id', order: 'n' },
  curve: { table: 'curve', id: 'curve_id', order: 'curve_id' },
  heat: { table: 'heat_balance', id: 'heat_id', order: 'n' },
  verdict: { table: 'verdict', id: 'verdict_id', order: 'verdict_id' },
} as const;
/** Columns that hold JSON. */
const JSONS = ['said', 'more', 'run_ids'] as const;

/**
 * What reductions say. Rows are added: working a run out anew takes the place of what was said before, and both stay. Reading gives
 * what stands now.
 */
export class Reductions {
  readonly #db: Database;
  readonly #clock: Clock;

  constructor(db: Database, clock: Clock) {
    this.#db = db;
    this.#clock = clock;
  }

  /** All points of a run, also none. @returns reduction_id. @throws RECORD_REFUSED, FILE_READ_ONLY */
  keepPoints(run_id: number, used: Used, points: readonly PointDraft[]): number {
    return this.#keep('points', run_id, used, points.map((p, i) => ({ n: i + 1, ...p })));
  }
  keepCurve(run_id: number, used: Used, curve: CurveDraft): number {
    return this.#keep('curve', run_id, used, [curve]);
  }
  keepHeat(run_id: number, used: Used, balances: readonly HeatDraft[]): number {
    return this.#keep('heat', run_id, used, balances.map((h, i) => ({ n: i + 1, ...h })));
  }
  /** Takes the place of the last one of the same builds and measure. */
  keepVerdict(used: Used, verdict: VerdictDraft): number {
    return this.#keep('verdict', null, used, [verdict]);
  }

  /** What one working out of a run says, all of it or nothing. @throws RECORD_REFUSED, FILE_READ_ONLY */
  keepRun(run_id: number, used: Used, { points, curve, heat }: RunDrafts): Standing[] {
    keep(this.#db, () => {
      if (points !== undefined) this.keepPoints(run_id, used, points);
      if (curve !== undefined) this.keepCurve(run_id, used, curve);
      if (heat !== undefined) this.keepHeat(run_id, used, heat);
    });
    return this.standing().filter((s) => s.run_id === run_id);
  }

  /** null: never worked out. */
  points(run_id: number): Kept<PointDraft>[] | null {
    return this.#read<PointDraft>('points', run_id);
  }
  curve(run_id: number): Kept<CurveDraft> | null {
    return this.#read<CurveDraft>('curve', run_id)?.[0] ?? null;
  }
  heat(run_id: number): Kept<HeatDraft>[] | null {
    return this.#read<HeatDraft>('heat', run_id);
  }
  /** All of runs that stand, oldest first. @param touched calibrations on which nothing is to rest as it did: stale too */
  standing(touched: readonly number[] = []): Standing[] {
    const rows = (kind: RunKind): string => `WHEN '${kind}' THEN (SELECT count(*) FROM ${tables[kind].table} x WHERE x.reduction_id = d.reduction_id)`;
    return this.#db
      .prepare<[string], Omit<Standing, 'settings' | 'stale'> & { settings: string; stale: 0 | 1 }>(
        `SELECT d.reduction_id, d.kind, d.run_id, d.settings, CASE d.kind ${rows('points')} ${rows('curve')} ${rows('heat')} END AS rows,
           EXISTS (SELECT 1 FROM json_each(d.cal_ids) u JOIN calibration k ON k.cal_id = u.value
             WHERE k.retired_utc_us IS NOT NULL OR k.cal_id IN (SELECT value FROM json_each(?)) OR EXISTS (SELECT 1 FROM calibration v WHERE v.replaces = k.cal_id AND v.retired_utc_us IS NULL)) AS stale
         FROM reduction d WHERE d.run_id IS NOT NULL AND d.superseded_by IS NULL ORDER BY d.reduction_id`,
      )
      .all(JSON.stringify(touched))
      .map((d) => ({ ...d, settings: JSON.parse(d.settings) as unknown, stale: d.stale === 1 }));
  }
  /** Those that stand, oldest first. */
  verdicts(): Kept<VerdictDraft>[] {
    const headers = this.#db.prepare<[], HeaderRow>("SELECT * FROM reduction WHERE kind = 'verdict' AND superseded_by IS NULL ORDER BY reduction_id").all();
    return headers.flatMap((h) => this.#rows<VerdictDraft>('verdict', h));
  }

  #keep(kind: Kind, run_id: number | null, used: Used, rows: readonly object[]): number {
    return keep(this.#db, () => {
      const { lastInsertRowid } = this.#db
        .prepare(
          `INSERT INTO reduction(kind, run_id, settings, cal_ids, zero_ids, check_ids, entered_ids, version, made_utc_us, author)
           VALUES (@kind, @run_id, @settings, @cal_ids, @zero_ids, @check_ids, @entered_ids, @version, @made_utc_us, @author)`,
        )
        .run({ kind, run_id, made_utc_us: Math.round(this.#clock.wall_us()), ...columnsOf(used) });
      const reduction_id = Number(lastInsertRowid);
      for (const row of rows) this.#insert(tables[kind].table, { reduction_id, ...row });
      this.#supersede(kind, reduction_id);
      return reduction_id;
    });
  }

  #insert(table: string, row: Readonly<Record<string, unknown>>): void {
    const names = this.#db.prepare<[string], { name: string }>('SELECT name FROM pragma_table_info(?) WHERE pk = 0').all(table).map((c) => c.name);
    const values = names.map((n) => ((JSONS as readonly string[]).includes(n) ? JSON.stringify(row[n] ?? null) : typeof row[n] === 'boolean' ? Number(row[n]) : (row[n] ?? null)));
    this.#db.prepare(`INSERT INTO ${table}(${names.join(', ')}) VALUES (${names.map(() => '?').join(', ')})`).run(values);
  }

  /** What it takes the place of: of the same run, or of the same question. */
  #supersede(kind: Kind, reduction_id: number): void {
    const same =
      kind === 'verdict'
        ? `reduction_id IN (SELECT o.reduction_id FROM verdict o JOIN verdict n ON n.reduction_id = @id AND n.build_a = o.build_a AND n.build_b = o.build_b AND n.measure = o.measure)`
        : 'run_id = (SELECT run_id FROM reduction WHERE reduction_id = @id)';
    this.#db.prepare(`UPDATE reduction SET superseded_by = @id WHERE kind = @kind AND superseded_by IS NULL AND reduction_id < @id AND ${same}`).run({ id: reduction_id, kind });
  }

  #read<Draft>(kind: Kind, run_id: number): Kept<Draft>[] | null {
    const header = this.#db.prepare<[number, string], HeaderRow>('SELECT * FROM reduction WHERE run_id = ? AND kind = ? AND superseded_by IS NULL').get(run_id, kind);
    return header === undefined ? null : this.#rows<Draft>(kind, header);
  }

  #rows<Draft>(kind: Kind, header: HeaderRow): Kept<Draft>[] {
    const { table, id, order } = tables[kind];
    const used = usedIn(header);
    return this.#db
      .prepare<[number], Record<string, unknown>>(`SELECT * FROM ${table} WHERE reduction_id = ? ORDER BY ${order}`)
      .all(header.reduction_id)
      .map((row) => {
        const told = { ...row, ...Object.fromEntries(JSONS.filter((n) => n in row).map((n) => [n, JSON.parse(row[n] as string) as unknown])), ...('verified' in row ? { verified: row['verified'] === 1 } : {}) };
        return { ...told, id: row[id], reduction_id: header.reduction_id, made_utc_us: header.made_utc_us, used } as Kept<Draft>;
      });
  }
}

import type { Database } from 'better-sqlite3';

import type { Clock } from '../../clock.js';
import { keep } from './kept.js';

/** A value of a run as it was worked out, or the reason why it is none. Everything that it rests on is named. */
export interface ResultDraft {
  readonly run_id: number;
  readonly name: string;
  readonly unit: string;
  readonly value: number | null;
  readonly reason: string | null;
  readonly u: number | null;
  /** null: as good as infinite. */
  readonly dof: number | null;
  /** Half the 95 % interval. */
  readonly expanded: number | null;
  readonly verified: boolean;
  /** What it lacks; null where verified. */
  readonly why: string | null;
  /** Plain JSON, largest line first. */
  readonly budget: unknown;
  readonly cal_ids: readonly number[];
  readonly zero_ids: readonly number[];
  readonly check_ids: readonly number[];
  readonly entered_ids: readonly number[];
  /** Of the program. */
  readonly version: string;
}

/** As the view `results` has it. */
export interface ResultRow {
  readonly result_id: number;
  readonly run_id: number;
  readonly run: string;
  readonly name: string;
  readonly value: number | null;
  readonly u: number | null;
  readonly dof: number | null;
  readonly expanded: number | null;
  readonly unit: string;
  readonly reason: string | null;
  readonly verified: 0 | 1;
  readonly why: string | null;
  /** JSON. */
  readonly cal_ids: string;
  /** A calibration that it used was corrected or retired since. */
  readonly stale: 0 | 1;
  readonly made: string;
  readonly version: string;
  readonly superseded_by: number | null;
  readonly simulated: 0 | 1;
}

/** Results of runs: added, and superseded by others, never changed. */
export class Results {
  readonly #db: Database;
  readonly #clock: Clock;

  constructor(db: Database, clock: Clock) {
    this.#db = db;
    this.#clock = clock;
  }

  /** Those given take the place of the run's former ones of the same names, in one transaction. @throws RECORD_REFUSED, FILE_READ_ONLY */
  keep(drafts: readonly ResultDraft[]): number[] {
    const made_utc_us = Math.round(this.#clock.wall_us());
    return keep(this.#db, () => {
      const insert = this.#db.prepare(
        `INSERT INTO result(run_id, name, unit, value, reason, u, dof, expanded, verified, why, budget, zero_ids, check_ids, entered_ids, made_utc_us, version)
         VALUES (@run_id, @name, @unit, @value, @reason, @u, @dof, @expanded, @verified, @why, @budget, @zero_ids, @check_ids, @entered_ids, @made_utc_us, @version)`,
      );
      const uses = this.#db.prepare('INSERT INTO result_uses(result_id, cal_id) VALUES (?, ?)');
      const supersede = this.#db.prepare('UPDATE result SET superseded_by = @id WHERE run_id = @run_id AND name = @name AND superseded_by IS NULL AND result_id < @id');
      return drafts.map(({ cal_ids, budget, zero_ids, check_ids, entered_ids, verified, ...draft }) => {
        const row = { ...draft, verified: verified ? 1 : 0, budget: JSON.stringify(budget), zero_ids: JSON.stringify(zero_ids), check_ids: JSON.stringify(check_ids), entered_ids: JSON.stringify(entered_ids), made_utc_us };
        const result_id = Number(insert.run(row).lastInsertRowid);
        for (const cal_id of new Set(cal_ids)) uses.run(result_id, cal_id);
        supersede.run({ id: result_id, run_id: draft.run_id, name: draft.name });
        return result_id;
      });
    });
  }

  /** Newest last; those that were superseded too, if asked. */
  list({ run_id = null, all = false }: { readonly run_id?: number | null; readonly all?: boolean } = {}): ResultRow[] {
    return this.#db
      .prepare<[object], ResultRow>(`SELECT * FROM results WHERE (@run_id IS NULL OR run_id = @run_id) ${all ? '' : 'AND superseded_by IS NULL'} ORDER BY run_id, name, result_id`)
      .all({ run_id });
  }

  /** Runs whose present results rest on a calibration that was corrected or retired since, or on one of `touched`. */
  staleRuns(touched: readonly number[] = []): number[] {
    const rests = 'EXISTS (SELECT 1 FROM result_uses u JOIN json_each(?) t ON t.value = u.cal_id WHERE u.result_id = results.result_id)';
    return this.#db.prepare<[string], { run_id: number }>(`SELECT DISTINCT run_id FROM results WHERE (stale = 1 OR ${rests}) AND superseded_by IS NULL ORDER BY run_id`).all(JSON.stringify(touched)).map((r) => r.run_id);
  }
}

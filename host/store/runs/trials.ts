import type { Database } from 'better-sqlite3';

import type { Clock } from '../../clock.js';
import { keep } from '../records/kept.js';
import type { Judged, Said, Stretch, Used } from './reductions.js';
import { columnsOf, usedIn } from './used.js';
import type { UsedColumns } from './used.js';

/** What a trial without a shaft says of one stretch; said: by name with the unit in it. The view trials has columns for those in TRIAL_NAMES. */
export interface TrialDraft extends Stretch, Judged {
  readonly strokes: number;
}

export type KeptTrial = TrialDraft & { readonly trial_id: number; readonly run_id: number; readonly n: number; readonly used: Used; readonly made_utc_us: number };

interface Row extends Omit<KeptTrial, 'verified' | 'said' | 'more' | 'used'>, UsedColumns {
  readonly verified: 0 | 1;
  readonly said: string;
  readonly more: string;
}

/** Trials that were kept: working a run out anew takes the place of what was said before, and both stay. */
export class Trials {
  readonly #db: Database;
  readonly #clock: Clock;

  constructor(db: Database, clock: Clock) {
    this.#db = db;
    this.#clock = clock;
  }

  /** All stretches of a run. @returns those that stand then. @throws RECORD_REFUSED, FILE_READ_ONLY */
  keep(run_id: number, used: Used, drafts: readonly TrialDraft[]): KeptTrial[] {
    const made_utc_us = Math.round(this.#clock.wall_us());
    const columns = columnsOf(used);
    keep(this.#db, () => {
      const before = this.of(run_id).map((t) => t.trial_id);
      const insert = this.#db.prepare(
        `INSERT INTO trial(run_id, n, boot_id, tick_from, tick_to, strokes, verified, why, said, more, settings, cal_ids, zero_ids, check_ids, entered_ids, version, made_utc_us, author)
         VALUES (@run_id, @n, @boot_id, @tick_from, @tick_to, @strokes, @verified, @why, @said, @more, @settings, @cal_ids, @zero_ids, @check_ids, @entered_ids, @version, @made_utc_us, @author)`,
      );
      const [first] = drafts.map((d, i) =>
        Number(insert.run({ ...d, ...columns, run_id, n: i + 1, made_utc_us, verified: Number(d.verified), said: JSON.stringify(d.said), more: JSON.stringify(d.more ?? null) }).lastInsertRowid));
      if (first === undefined) return;
      const supersede = this.#db.prepare('UPDATE trial SET superseded_by = ? WHERE trial_id = ?');
      for (const old of before) supersede.run(first, old);
    });
    return this.of(run_id);
  }

  /** Those of a run that stand; without a run, of all runs. */
  of(run_id?: number): KeptTrial[] {
    const rows = this.#db.prepare<number[], Row>(`SELECT * FROM trial WHERE superseded_by IS NULL${run_id === undefined ? '' : ' AND run_id = ?'} ORDER BY trial_id`).all(...(run_id === undefined ? [] : [run_id]));
    return rows.map((row) => {
      const { verified, said, more, settings, cal_ids, zero_ids, check_ids, entered_ids, version, author, ...rest } = row;
      const used = usedIn({ settings, cal_ids, zero_ids, check_ids, entered_ids, version, author });
      return { ...rest, verified: verified === 1, said: JSON.parse(said) as Said, more: JSON.parse(more) as unknown, used };
    });
  }
}

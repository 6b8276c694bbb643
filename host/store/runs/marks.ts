import type { Database } from 'better-sqlite3';

import type { Clock } from '../../clock.js';
import { fail } from '../../errors.js';
import type { Place } from '../../sense/calibration/record.js';
import { keep } from '../records/kept.js';
import { History } from './history.js';
import type { Change } from './history.js';
import { placeOf } from './spans.js';

/** As the view marks has it; mark_id null: a press of the button that has no words yet. */
export interface MarkRow {
  readonly mark_id: number | null;
  readonly rig_id: number;
  readonly utc_us: number;
  readonly t: string;
  readonly boot_id: number | null;
  readonly tick: number | null;
  readonly text: string;
  readonly source: 'button' | 'command' | 'page';
  readonly pressed_boot_id: number | null;
  readonly pressed_tick: number | null;
  readonly archived: 0 | 1;
  readonly author: string;
  readonly simulated: 0 | 1;
}

/** All of a mark that may be changed. */
export interface MarkState {
  readonly text: string;
  readonly utc_us: number;
  readonly boot_id: number | null;
  readonly tick: number | null;
  readonly archived: boolean;
}

/** Dated remarks, and presses of the board's button, whose words come afterwards. */
export class Marks {
  readonly #db: Database;
  readonly #clock: Clock;
  readonly #history: History<MarkState>;

  constructor(db: Database, clock: Clock) {
    this.#db = db;
    this.#clock = clock;
    this.#history = new History(db, clock, 'mark_note', 'mark_id', (id) => this.#state(id), (id, state) => this.#write(id, state));
  }

  /** By when they were, archived ones too. @param run_id only those within it */
  list(run_id?: number): MarkRow[] {
    if (run_id === undefined) return this.#db.prepare<[], MarkRow>('SELECT * FROM marks ORDER BY utc_us, mark_id').all();
    const sql = `SELECT m.* FROM marks m WHERE EXISTS (SELECT 1 FROM run_span s WHERE s.run_id = ? AND s.boot_id = m.boot_id AND m.tick BETWEEN s.tick_from AND coalesce(s.tick_to, m.tick)) ORDER BY m.utc_us, m.mark_id`;
    return this.#db.prepare<[number], MarkRow>(sql).all(run_id);
  }

  /** @throws NOT_KEPT */
  get(mark_id: number): MarkRow {
    const row = this.#db.prepare<[number], MarkRow>('SELECT * FROM marks WHERE mark_id = ?').get(mark_id);
    if (row === undefined) throw this.#unknown(String(mark_id));
    return row;
  }

  /** @param utc_us when it was; its place in the record is found, if it lies in it. @throws RECORD_REFUSED, FILE_READ_ONLY */
  keep(draft: { readonly rig_id: number; readonly utc_us: number; readonly text: string; readonly source: 'command' | 'page'; readonly author: string }): MarkRow {
    const at = placeOf(this.#db, draft.rig_id, draft.utc_us);
    return this.#insert({ ...draft, utc_us: Math.round(draft.utc_us), boot_id: at?.boot_id ?? null, tick: at?.tick ?? null, pressed_boot_id: null, pressed_tick: null });
  }

  /** Gives words to a press; a second time, others. @throws NOT_KEPT where there was no such press */
  name(press: Place, text: string, author: string): MarkRow {
    const row = this.#db.prepare<[number, number], MarkRow>("SELECT * FROM marks WHERE pressed_boot_id = ? AND pressed_tick = ?").get(press.boot_id, press.tick);
    if (row === undefined) throw fail('NOT_KEPT', { what: 'A press of the button at', id: `${press.boot_id}/${press.tick}`, known: 'mark list, which has them all' });
    if (row.mark_id !== null) return this.change(row.mark_id, 'text', author, { text });
    return this.#insert({ rig_id: row.rig_id, utc_us: row.utc_us, boot_id: press.boot_id, tick: press.tick, pressed_boot_id: press.boot_id, pressed_tick: press.tick, text, source: 'button', author });
  }

  /** The last press that has no words yet; null: none. */
  lastPress(): Place | null {
    const sql = `SELECT p.boot_id, p.tick FROM mark_raw p WHERE NOT EXISTS (SELECT 1 FROM mark_note n WHERE n.pressed_boot_id = p.boot_id AND n.pressed_tick = p.tick) ORDER BY p.boot_id DESC, p.tick DESC LIMIT 1`;
    return this.#db.prepare<[], Place>(sql).get() ?? null;
  }

  /** @throws NOT_KEPT, RECORD_REFUSED, FILE_READ_ONLY */
  change(mark_id: number, did: string, author: string, to: { readonly text?: string; readonly utc_us?: number; readonly archived?: boolean }): MarkRow {
    const { rig_id } = this.get(mark_id);
    this.#history.change(mark_id, did, author, (before) => {
      if (to.utc_us === undefined) return { ...before, ...to };
      const at = placeOf(this.#db, rig_id, to.utc_us);
      return { ...before, ...to, utc_us: Math.round(to.utc_us), boot_id: at?.boot_id ?? null, tick: at?.tick ?? null };
    });
    return this.get(mark_id);
  }

  undo(mark_id: number, author: string): { readonly mark: MarkRow; readonly took_back: string } {
    this.get(mark_id);
    const { did } = this.#history.undo(mark_id, author);
    return { mark: this.get(mark_id), took_back: did };
  }

  history(mark_id: number): Change<MarkState>[] {
    return this.#history.list(mark_id);
  }

  #insert(row: object): MarkRow {
    const { lastInsertRowid } = keep(this.#db, () =>
      this.#db
        .prepare(
          `INSERT INTO mark_note(rig_id, utc_us, boot_id, tick, pressed_boot_id, pressed_tick, text, source, made_utc_us, author)
           VALUES (@rig_id, @utc_us, @boot_id, @tick, @pressed_boot_id, @pressed_tick, @text, @source, @made_utc_us, @author)`,
        )
        .run({ ...row, made_utc_us: Math.round(this.#clock.wall_us()) }),
    );
    return this.get(Number(lastInsertRowid));
  }

  #state(mark_id: number): MarkState {
    const row = this.#db.prepare<[number], Omit<MarkState, 'archived'> & { archived: number }>('SELECT text, utc_us, boot_id, tick, archived FROM mark_note WHERE mark_id = ?').get(mark_id);
    if (row === undefined) throw this.#unknown(String(mark_id));
    return { ...row, archived: row.archived === 1 };
  }

  #write(mark_id: number, { text, utc_us, boot_id, tick, archived }: MarkState): void {
    this.#db.prepare('UPDATE mark_note SET text = ?, utc_us = ?, boot_id = ?, tick = ?, archived = ? WHERE mark_id = ?').run(text, utc_us, boot_id, tick, Number(archived), mark_id);
  }

  #unknown(id: string): ReturnType<typeof fail> {
    const last = this.#db.prepare<[], { n: number | null }>('SELECT max(mark_id) AS n FROM mark_note').get()?.n ?? null;
    return fail('NOT_KEPT', { what: 'Mark', id, known: last === null ? 'none yet' : last === 1 ? 'only 1' : `1 to ${last}` });
  }
}

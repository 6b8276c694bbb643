import type { Database } from 'better-sqlite3';

import type { Clock } from '../../clock.js';
import { fail } from '../../errors.js';
import { buildInUseSql } from '../ledger/in_use.js';
import { keep } from '../records/kept.js';
import { History } from './history.js';
import type { Change } from './history.js';
import { defaultName, unusedName } from './names.js';
import type { RunSpan } from './spans.js';

/** A stretch of a run that is left out of points. */
export interface Exclusion extends RunSpan {
  readonly exclusion: number;
  readonly tick_to: number;
  readonly reason: string;
}

/** All of a run that may be changed. */
export interface RunState {
  readonly name: string;
  readonly note: string;
  readonly archived: boolean;
  readonly build_id: number | null;
  readonly spans: readonly RunSpan[];
  readonly exclusions: readonly Exclusion[];
}

/** As the view runs has it. */
export interface RunRow {
  readonly run_id: number;
  readonly rig_id: number;
  readonly name: string;
  readonly note: string;
  readonly archived: 0 | 1;
  readonly build_id: number | null;
  readonly build: string | null;
  readonly from_t: string | null;
  readonly to_t: string | null;
  readonly from_utc_us: number | null;
  readonly to_utc_us: number | null;
  readonly recorded_s: number | null;
  readonly excluded_s: number;
  readonly going_on: 0 | 1;
  readonly verified: 0 | 1;
  readonly why: string | null;
  readonly zeros_enclose: 0 | 1;
  readonly check_passed: 0 | 1 | null;
  readonly made: string;
  readonly author: string;
  readonly simulated: 0 | 1;
}

export interface RunDraft {
  readonly rig_id: number;
  /** null: date and number. */
  readonly name: string | null;
  /** undefined: the one in use where it begins. */
  readonly build_id?: number | null;
  readonly note?: string;
  readonly spans: readonly RunSpan[];
  readonly author: string;
}

/** Named spans of the record: changed with history, archived, never deleted. */
export class Runs {
  readonly #db: Database;
  readonly #clock: Clock;
  readonly #history: History<RunState>;

  constructor(db: Database, clock: Clock) {
    this.#db = db;
    this.#clock = clock;
    this.#history = new History(db, clock, 'run', 'run_id', (id) => this.state(id), (id, state) => this.#write(id, state));
  }

  /** By where they begin, archived ones too. */
  list(): RunRow[] {
    return this.#db.prepare<[], RunRow>('SELECT * FROM runs ORDER BY from_utc_us, run_id').all();
  }

  /** @throws NOT_KEPT */
  get(run_id: number): RunRow {
    const row = this.#db.prepare<[number], RunRow>('SELECT * FROM runs WHERE run_id = ?').get(run_id);
    if (row === undefined) throw this.#unknown(String(run_id));
    return row;
  }

  /** A run by its number, its name, or `last`: the one that began last. @throws NOT_KEPT */
  find(word: string): RunRow {
    const byName = this.#db.prepare<[string], { run_id: number }>('SELECT run_id FROM run WHERE name = ?').get(word);
    const run_id = byName?.run_id ?? (word === 'last' ? this.list().findLast((r) => r.archived === 0)?.run_id : /^[1-9]\d{0,9}$/.test(word) ? Number(word) : undefined);
    if (run_id === undefined) throw this.#unknown(word);
    return this.get(run_id);
  }

  /** The run that goes on, of one rig. */
  open(rig_id: number): RunRow | null {
    const row = this.#db.prepare<[number], { run_id: number }>('SELECT r.run_id FROM run r JOIN run_span s ON s.run_id = r.run_id WHERE r.rig_id = ? AND s.tick_to IS NULL ORDER BY r.run_id DESC LIMIT 1').get(rig_id);
    return row === undefined ? null : this.get(row.run_id);
  }

  /** @throws NOT_KEPT */
  state(run_id: number): RunState {
    const run = this.#db.prepare<[number], { name: string; note: string; archived: number; build_id: number | null }>('SELECT name, note, archived, build_id FROM run WHERE run_id = ?').get(run_id);
    if (run === undefined) throw this.#unknown(String(run_id));
    return {
      ...run,
      archived: run.archived === 1,
      spans: this.#db.prepare<[number], RunSpan>('SELECT boot_id, tick_from, tick_to FROM run_span WHERE run_id = ? ORDER BY boot_id, tick_from').all(run_id),
      exclusions: this.#db.prepare<[number], Exclusion>('SELECT exclusion, boot_id, tick_from, tick_to, reason FROM run_exclusion WHERE run_id = ? ORDER BY exclusion, boot_id, tick_from').all(run_id),
    };
  }

  /** @throws RECORD_REFUSED for a name that is taken, FILE_READ_ONLY */
  keep(draft: RunDraft): RunRow {
    const run_id = keep(this.#db, () => {
      const names = this.#names();
      const [first] = draft.spans;
      if (first === undefined) throw fail('RECORD_REFUSED', { reason: 'a run needs a span of the record' });
      const made_utc_us = Math.round(this.#clock.wall_us());
      const build_id = draft.build_id === undefined ? this.#buildAt(first) : draft.build_id;
      const { lastInsertRowid } = this.#db
        .prepare('INSERT INTO run(rig_id, name, note, build_id, made_utc_us, author) VALUES (?, ?, ?, ?, ?, ?)')
        .run(draft.rig_id, '', draft.note ?? '', build_id, made_utc_us, draft.author);
      const id = Number(lastInsertRowid);
      this.#writeSpans(id, draft.spans);
      const name = draft.name === null ? defaultName(this.get(id).from_utc_us ?? made_utc_us, names) : unusedName(draft.name, names, 'run');
      this.#db.prepare('UPDATE run SET name = ? WHERE run_id = ?').run(name, id);
      return id;
    });
    return this.get(run_id);
  }

  /** @param did in words, for its history. @throws NOT_KEPT, RECORD_REFUSED, FILE_READ_ONLY */
  change(run_id: number, did: string, author: string, to: (before: RunState) => Partial<RunState>): RunRow {
    this.#history.change(run_id, did, author, (before) => {
      const change = to(before);
      if (change.name !== undefined && change.name !== before.name) unusedName(change.name, this.#names(), 'run');
      if (change.spans?.length === 0) throw fail('RECORD_REFUSED', { reason: 'a run needs a span of the record' });
      return { ...before, ...change };
    });
    return this.get(run_id);
  }

  /** A run that goes on has come to another boot: no change of what was said. */
  goOn(run_id: number, spans: readonly RunSpan[]): void {
    keep(this.#db, () => this.#writeSpans(run_id, spans));
  }

  /** @throws NOT_KEPT, RECORD_REFUSED */
  undo(run_id: number, author: string): { readonly run: RunRow; readonly took_back: string } {
    this.get(run_id);
    const { did } = this.#history.undo(run_id, author);
    return { run: this.get(run_id), took_back: did };
  }

  history(run_id: number): Change<RunState>[] {
    return this.#history.list(run_id);
  }

  /** The build that was in use at a place; null: none was told. */
  #buildAt(place: RunSpan): number | null {
    const sql = `SELECT ${buildInUseSql('@boot_id', '@tick')} AS n`;
    return this.#db.prepare<[object], { n: number | null }>(sql).get({ boot_id: place.boot_id, tick: place.tick_from })?.n ?? null;
  }

  #names(): ReadonlySet<string> {
    return new Set(this.#db.prepare<[], { name: string }>('SELECT name FROM run').all().map((r) => r.name));
  }

  #write(run_id: number, { name, note, archived, build_id, spans, exclusions }: RunState): void {
    this.#db.prepare('UPDATE run SET name = ?, note = ?, archived = ?, build_id = ? WHERE run_id = ?').run(name, note, Number(archived), build_id, run_id);
    this.#writeSpans(run_id, spans);
    this.#db.prepare('DELETE FROM run_exclusion WHERE run_id = ?').run(run_id);
    const insert = this.#db.prepare('INSERT INTO run_exclusion(run_id, exclusion, boot_id, tick_from, tick_to, reason) VALUES (?, ?, ?, ?, ?, ?)');
    for (const e of exclusions) insert.run(run_id, e.exclusion, e.boot_id, e.tick_from, e.tick_to, e.reason);
  }

  #writeSpans(run_id: number, spans: readonly RunSpan[]): void {
    this.#db.prepare('DELETE FROM run_span WHERE run_id = ?').run(run_id);
    const insert = this.#db.prepare('INSERT INTO run_span(run_id, boot_id, tick_from, tick_to) VALUES (?, ?, ?, ?)');
    for (const s of spans) insert.run(run_id, s.boot_id, s.tick_from, s.tick_to);
  }

  #unknown(id: string): ReturnType<typeof fail> {
    const all = this.#db.prepare<[], { n: number; last: string | null }>('SELECT count(*) AS n, (SELECT name FROM run ORDER BY run_id DESC LIMIT 1) AS last FROM run').get();
    return fail('NOT_KEPT', { what: 'Run', id, known: all === undefined || all.n === 0 ? 'none yet' : `1 to ${all.n}, the last is called ${all.last ?? ''}` });
  }
}

import type { Database } from 'better-sqlite3';

import type { Clock } from '../../clock.js';
import { fail } from '../../errors.js';
import type { Place } from '../../sense/calibration/record.js';
import { keep } from '../records/kept.js';
import { History } from '../runs/history.js';
import type { Change } from '../runs/history.js';
import { unusedName } from '../runs/names.js';
import type { Part } from './diff.js';
import { buildInUseSql, currentBuildSql } from './in_use.js';

/** As the view builds has it. */
export interface BuildRow {
  readonly build_id: number;
  readonly name: string;
  readonly copied_from: string | null;
  readonly parts: number;
  readonly mass_g: number | null;
  readonly parts_weighed: number;
  readonly runs: number;
  readonly turning_h: number;
  readonly current: 0 | 1;
  readonly note: string;
  readonly archived: 0 | 1;
  readonly made: string;
  readonly author: string;
  readonly simulated: 0 | 1;
}

/** What a piece has been through in all builds that it was in. */
export interface PartCounter {
  readonly part_id: number;
  readonly part: string | null;
  readonly material: string | null;
  readonly builds: number;
  readonly revolutions: number;
  readonly turning_h: number;
  readonly heat_cycles: number;
  readonly counted_t: string | null;
  readonly simulated: 0 | 1;
}

/** A part with what it has been through. */
export type CountedPart = Part & Pick<PartCounter, 'revolutions' | 'turning_h' | 'heat_cycles'>;

/** All of a build that may be changed. */
export interface BuildState {
  readonly name: string;
  readonly note: string;
  readonly archived: boolean;
  readonly parts: readonly Part[];
}

/** What can be told of a part; what is left out stays. */
export type PartTold = Partial<Omit<Part, 'name' | 'part_id'>>;

/** From when on the engine was a build. place null: from the beginning of the record. */
export interface Use {
  readonly use_id: number;
  readonly build_id: number;
  readonly name: string;
  readonly place: Place | null;
  readonly author: string;
  readonly remark: string;
  readonly retired_utc_us: number | null;
}

const blank: Omit<Part, 'name' | 'part_id'> = { material: '', mass_g: null, dimensions: '', note: '', photo: '', made_by: '', made_on: '' };

/** The ledger: states of the engine, their parts, and when which was in use. */
export class Builds {
  readonly #db: Database;
  readonly #clock: Clock;
  readonly #history: History<BuildState>;

  constructor(db: Database, clock: Clock) {
    this.#db = db;
    this.#clock = clock;
    this.#history = new History(db, clock, 'build', 'build_id', (id) => this.state(id), (id, state) => this.#write(id, state));
  }

  /** As they were added, archived ones too. */
  list(): BuildRow[] {
    return this.#db.prepare<[], BuildRow>('SELECT * FROM builds ORDER BY build_id').all();
  }

  /** @throws NOT_KEPT */
  get(build_id: number): BuildRow {
    const row = this.#db.prepare<[number], BuildRow>('SELECT * FROM builds WHERE build_id = ?').get(build_id);
    if (row === undefined) throw this.#unknown(String(build_id));
    return row;
  }

  /** By its name, its number, or `last`: the one that was added last. @throws NOT_KEPT */
  find(word: string): BuildRow {
    const row = this.#db.prepare<[string, string, string], { build_id: number }>("SELECT build_id FROM build WHERE name = ? OR CAST(build_id AS TEXT) = ? OR ? = 'last' ORDER BY build_id DESC LIMIT 1").get(word, word, word);
    if (row === undefined) throw this.#unknown(word);
    return this.get(row.build_id);
  }

  /** The one that the engine is from now on; null: none was ever put in use. */
  current(): BuildRow | null {
    const n = this.#db.prepare<[], { n: number | null }>(`SELECT ${currentBuildSql} AS n`).get()?.n ?? null;
    return n === null ? null : this.get(n);
  }

  /** The one that was in use at a place. */
  at(place: Place): BuildRow | null {
    const n = this.#db.prepare<[object], { n: number | null }>(`SELECT ${buildInUseSql('@boot_id', '@tick')} AS n`).get({ boot_id: place.boot_id, tick: place.tick })?.n ?? null;
    return n === null ? null : this.get(n);
  }

  /** As the view part_counters has them: as far as Wear has counted. */
  counters(): PartCounter[] {
    return this.#db.prepare<[], PartCounter>('SELECT * FROM part_counters ORDER BY part_id').all();
  }

  parts(build_id: number): Part[] {
    return this.#db.prepare<[number], Part>('SELECT name, part_id, material, mass_g, dimensions, note, photo, made_by, made_on FROM build_part WHERE build_id = ? ORDER BY name').all(build_id);
  }

  /** @throws NOT_KEPT */
  state(build_id: number): BuildState {
    const row = this.#db.prepare<[number], { name: string; note: string; archived: number }>('SELECT name, note, archived FROM build WHERE build_id = ?').get(build_id);
    if (row === undefined) throw this.#unknown(String(build_id));
    return { ...row, archived: row.archived === 1, parts: this.parts(build_id) };
  }

  /** @param like whose parts it has, piece by piece; null: none. @throws RECORD_REFUSED for a name that is taken, FILE_READ_ONLY */
  add(name: string, like: number | null, note: string, author: string): BuildRow {
    const id = keep(this.#db, () => {
      const { lastInsertRowid } = this.#db
        .prepare('INSERT INTO build(name, note, like_build_id, made_utc_us, author) VALUES (?, ?, ?, ?, ?)')
        .run(unusedName(name, this.#names(), 'build'), note, like, Math.round(this.#clock.wall_us()), author);
      if (like !== null) this.#writeParts(Number(lastInsertRowid), this.parts(like));
      return Number(lastInsertRowid);
    });
    return this.get(id);
  }

  /** @throws NOT_KEPT, RECORD_REFUSED, FILE_READ_ONLY */
  change(build_id: number, did: string, author: string, to: (before: BuildState) => Partial<BuildState>): BuildRow {
    this.#history.change(build_id, did, author, (before) => {
      const change = to(before);
      const name = change.name === undefined || change.name === before.name ? before.name : unusedName(change.name, this.#names(), 'build');
      return { ...before, ...change, name };
    });
    return this.get(build_id);
  }

  /**
   * Tells a part of a build. Where another build has the very piece and something that matters is told otherwise, it is a new
   * piece from here on, whose counters begin at 0, unless `same` says that it is that one, reworked.
   * @throws NOT_KEPT, RECORD_REFUSED, FILE_READ_ONLY
   */
  setPart(build_id: number, name: string, told: PartTold & { readonly piece?: 'same' | 'new' }, author: string): Part {
    const { piece, ...more } = told;
    this.change(build_id, `part ${name}`, author, ({ parts }) => {
      const old = parts.find((p) => p.name === name);
      const next = { ...(old ?? blank), ...more };
      const changed = old === undefined || (['material', 'mass_g', 'dimensions'] as const).some((k) => old[k] !== next[k]);
      const fresh = old === undefined || piece === 'new' || (piece !== 'same' && changed && this.#elsewhere(old.part_id, build_id));
      const part: Part = { ...next, name, part_id: fresh ? this.#newPiece(author) : old.part_id };
      return { parts: [...parts.filter((p) => p.name !== name), part] };
    });
    return this.parts(build_id).find((p) => p.name === name) as Part;
  }

  /** @throws NOT_KEPT, RECORD_REFUSED where the build has no such part */
  removePart(build_id: number, name: string, author: string): void {
    this.change(build_id, `took part ${name} out`, author, ({ parts }) => {
      if (!parts.some((p) => p.name === name)) throw fail('RECORD_REFUSED', { reason: `the build has no part ${name}: it has ${parts.map((p) => p.name).join(', ') || 'none'}` });
      return { parts: parts.filter((p) => p.name !== name) };
    });
  }

  undo(build_id: number, author: string): { readonly build: BuildRow; readonly took_back: string } {
    this.get(build_id);
    const { did } = this.#history.undo(build_id, author);
    return { build: this.get(build_id), took_back: did };
  }

  history(build_id: number): Change<BuildState>[] {
    return this.#history.list(build_id);
  }

  /** The engine is that build from a place on, until the next use. @throws RECORD_REFUSED, FILE_READ_ONLY */
  use(build_id: number, place: Place | null, author: string, remark: string): Use {
    const { lastInsertRowid } = keep(this.#db, () =>
      this.#db
        .prepare('INSERT INTO build_use(build_id, boot_from, tick_from, made_utc_us, author, remark) VALUES (?, ?, ?, ?, ?, ?)')
        .run(build_id, place?.boot_id ?? null, place?.tick ?? 0, Math.round(this.#clock.wall_us()), author, remark),
    );
    return this.uses().find((u) => u.use_id === Number(lastInsertRowid)) as Use;
  }

  /** In the order of their places, those taken back too. */
  uses(): Use[] {
    return this.#db
      .prepare<[], Omit<Use, 'place'> & { boot_from: number | null; tick_from: number }>(
        'SELECT u.use_id, u.build_id, b.name, u.boot_from, u.tick_from, u.author, u.remark, u.retired_utc_us FROM build_use u JOIN build b ON b.build_id = u.build_id ORDER BY coalesce(u.boot_from, 0), u.tick_from, u.use_id',
      )
      .all()
      .map(({ boot_from, tick_from, ...u }) => ({ ...u, place: boot_from === null ? null : { boot_id: boot_from, tick: tick_from } }));
  }

  /** It was not so. @throws NOT_KEPT, ALREADY_RETIRED */
  retireUse(use_id: number, remark: string): void {
    keep(this.#db, () => {
      const found = this.#db.prepare<[number], { retired_utc_us: number | null }>('SELECT retired_utc_us FROM build_use WHERE use_id = ?').get(use_id);
      if (found === undefined) throw fail('NOT_KEPT', { what: 'Use', id: use_id, known: `what builds uses lists` });
      if (found.retired_utc_us !== null) throw fail('ALREADY_RETIRED', { what: `Use ${use_id}` });
      this.#db.prepare('UPDATE build_use SET retired_utc_us = ?, retired_remark = ? WHERE use_id = ?').run(Math.round(this.#clock.wall_us()), remark, use_id);
    });
  }

  #elsewhere(part_id: number, build_id: number): boolean {
    return this.#db.prepare<[number, number], { n: number }>('SELECT count(*) AS n FROM build_part WHERE part_id = ? AND build_id <> ?').get(part_id, build_id)?.n !== 0;
  }

  #newPiece(author: string): number {
    return Number(this.#db.prepare('INSERT INTO part(made_utc_us, author) VALUES (?, ?)').run(Math.round(this.#clock.wall_us()), author).lastInsertRowid);
  }

  #names(): ReadonlySet<string> {
    return new Set(this.#db.prepare<[], { name: string }>('SELECT name FROM build').all().map((r) => r.name));
  }

  #write(build_id: number, { name, note, archived, parts }: BuildState): void {
    this.#db.prepare('UPDATE build SET name = ?, note = ?, archived = ? WHERE build_id = ?').run(name, note, Number(archived), build_id);
    this.#writeParts(build_id, parts);
  }

  #writeParts(build_id: number, parts: readonly Part[]): void {
    this.#db.prepare('DELETE FROM build_part WHERE build_id = ?').run(build_id);
    const insert = this.#db.prepare(
      'INSERT INTO build_part(build_id, name, part_id, material, mass_g, dimensions, note, photo, made_by, made_on) VALUES (@build_id, @name, @part_id, @material, @mass_g, @dimensions, @note, @photo, @made_by, @made_on)',
    );
    for (const part of parts) insert.run({ build_id, ...part });
  }

  #unknown(id: string): ReturnType<typeof fail> {
    const names = this.#db.prepare<[], { name: string }>('SELECT name FROM build ORDER BY build_id DESC LIMIT 5').all().map((r) => r.name);
    return fail('NOT_KEPT', { what: 'Build', id, known: names.length === 0 ? 'none yet' : names.reverse().join(', ') });
  }
}

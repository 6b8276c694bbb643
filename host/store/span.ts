import type { Database, Statement } from 'better-sqlite3';

import { fail } from '../errors.js';
import { channels } from '../sense/calibration/model.js';
import type { Channel } from '../sense/calibration/model.js';
import type { KeptCalibration } from './records/calibrations.js';
import { enteredNames } from '../sense/entered.js';
import type { EnteredName } from '../sense/entered.js';
import type { Sheet } from '../sense/sheet.js';
import { known } from '../sense/uncertainty/quantity.js';
import type { Quantity } from '../sense/uncertainty/quantity.js';
import { differences } from './ledger/diff.js';
import type { Part } from './ledger/diff.js';
import { buildInUseSql } from './ledger/in_use.js';
import type { Records } from './records/index.js';
import type { KeptEntry } from './records/told.js';
import type { KeptCheck, KeptZero } from './records/zeros.js';
import { placeAtOrBefore } from './runs/spans.js';

/** Where in the record: one stretch of one boot, both ends in it. */
export interface Stretch {
  readonly boot_id: number;
  readonly tick_from: number;
  readonly tick_to: number;
}

const sums = { in_sum: Uint16Array, out_sum: Uint16Array, skin_sum: Uint16Array, spare_sum: Uint16Array } as const;
const spreads = { in_spread: Uint8Array, out_spread: Uint8Array, skin_spread: Uint8Array, spare_spread: Uint8Array } as const;

/** What may be NULL is a Float64Array. */
const streams = {
  force: { table: 'force_raw', columns: { tick: Float64Array, count: Int32Array, flags: Uint8Array } },
  edge: { table: 'edge_raw', columns: { tick: Float64Array } },
  hot: { table: 'hot_raw', columns: { tick: Float64Array, word: Uint32Array } },
  water: { table: 'water_raw', columns: { tick: Float64Array, ...sums, ...spreads } },
  flow: { table: 'flow_raw', columns: { tick: Float64Array, pulse_tick: Float64Array, pulses: Float64Array } },
  mark: { table: 'mark_raw', columns: { tick: Float64Array } },
} as const;
type Stream = keyof typeof streams;

/** Rows of one stream as columns; `n` of each. */
type Columns<S extends Stream> = { readonly n: number } & { readonly [K in keyof (typeof streams)[S]['columns']]: (typeof streams)[S]['columns'][K] extends new (n: number) => infer A ? A : never };

type Column = Float64Array | Int32Array | Uint32Array | Uint16Array | Uint8Array;

/** What the board said over a stretch, and some seconds either side. NULL is NaN. */
export type RecordedSpan = { readonly [S in Stream]: Columns<S> } & Stretch & {
    readonly rig_id: number;
    readonly simulated: boolean;
    readonly magnets: number;
    readonly us_per_tick: number;
    readonly u_us_per_tick: number;
    readonly from_utc_us: number | null;
    readonly holes: readonly { readonly stream: string; readonly tick_from: number; readonly tick_to: number; readonly lost: number }[];
  };

/** What held over it, as the record has it. */
export interface RecordedKnowledge {
  readonly rig_id: number;
  readonly magnets: number;
  readonly calibrations: Readonly<Partial<Record<Channel, KeptCalibration>>>;
  readonly zeros: readonly KeptZero[];
  readonly checks: readonly KeptCheck[];
  readonly sheet: Sheet;
  readonly entered: readonly { readonly entered_id: number; readonly name: EnteredName; readonly value: number; readonly u: number; readonly unit: string; readonly age_s: number }[];
  /** As it was entered last before; null: never. */
  readonly inertia_kgm2: Quantity | null;
  /** What to see to, in words. */
  readonly warnings: readonly string[];
}

/** Earlier edges give the shaft's rhythm, later conversions stand for the last turn. */
const BESIDE_s = 5;
/** Rows are fetched so many at a time: a statement that is left open would hold the log back. */
const PAGE_rows = 20_000;
/** Of a fuel, which does not change when somebody looks it up. */
const LOOKED_UP: ReadonlySet<EnteredName> = new Set<EnteredName>(['fuel_LHV_MJ_kg', 'fuel_HHV_MJ_kg', 'fuel_hydrogen_percent']);
/** A rate of which nothing is known: that of any resonator (hardware-notes/board.md). */
const RATE_UNKNOWN_ppm = 5000 / Math.sqrt(3);

/** Reads stretches of raw rows into typed arrays. */
export class Spans {
  readonly #db: Database;
  readonly #records: Records;
  /** One for each column: a number a row costs a tenth of what an array a row does. */
  readonly #pages: { readonly [S in Stream]: readonly Statement<[number, number, number, number], number | null>[] };

  constructor(db: Database, records: Records) {
    this.#db = db;
    this.#records = records;
    const page = (stream: Stream): Statement<[number, number, number, number], number | null>[] => {
      const { table, columns } = streams[stream];
      return Object.keys(columns).map((name) => db.prepare<[number, number, number, number], number | null>(`SELECT ${name} FROM ${table} WHERE boot_id = ? AND tick > ? AND tick <= ? ORDER BY tick LIMIT ?`).pluck(true));
    };
    this.#pages = { force: page('force'), edge: page('edge'), hot: page('hot'), water: page('water'), flow: page('flow'), mark: page('mark') };
  }

  /** @throws NOT_KEPT for a boot that the record has not */
  read({ boot_id, tick_from, tick_to }: Stretch): RecordedSpan {
    const boot = this.#db
      .prepare<[number], { rig_id: number; simulated: number; magnets: number; nominal: number }>(
        'SELECT b.rig_id, b.simulated, r.magnets, 1e6 * b.cycles_per_tick / b.clock_Hz AS nominal FROM boot b JOIN rig r ON r.rig_id = b.rig_id WHERE b.boot_id = ?',
      )
      .get(boot_id);
    if (boot === undefined) throw fail('NOT_KEPT', { what: 'Boot', id: boot_id, known: 'those that smallbrake doctor lists' });
    const beside = Math.round((BESIDE_s * 1e6) / boot.nominal);
    const rows = <S extends Stream>(stream: S): Columns<S> => this.#columns(stream, boot_id, tick_from - beside, tick_to + beside);
    return {
      boot_id,
      tick_from,
      tick_to,
      rig_id: boot.rig_id,
      simulated: boot.simulated === 1,
      magnets: boot.magnets,
      ...this.clock(boot_id, tick_from, tick_to, boot.nominal),
      force: rows('force'),
      edge: rows('edge'),
      hot: rows('hot'),
      water: rows('water'),
      flow: rows('flow'),
      mark: rows('mark'),
      holes: this.#db
        .prepare<[number, number, number], { stream: string; tick_from: number; tick_to: number; lost: number }>('SELECT stream, tick_from, tick_to, lost FROM gap WHERE boot_id = ? AND tick_to >= ? AND tick_from <= ? ORDER BY tick_from')
        .all(boot_id, tick_from - beside, tick_to + beside),
    };
  }

  /** Of the middle of a stretch: the versions that hold there, and what was entered last before it (or first after). */
  knowledge({ boot_id, tick_from, tick_to }: Stretch, { rig_id, magnets, us_per_tick, from_utc_us }: Pick<RecordedSpan, 'rig_id' | 'magnets' | 'us_per_tick' | 'from_utc_us'>): RecordedKnowledge {
    const { calibrations, zeros, told } = this.#records;
    const place = { boot_id, tick: Math.round((tick_from + tick_to) / 2) };
    const utc_us = from_utc_us === null ? null : from_utc_us + (place.tick - tick_from) * us_per_tick;
    const held = Object.fromEntries(channels.flatMap((channel) => {
      const found = calibrations.at(rig_id, channel, place);
      return found === null ? [] : [[channel, found]];
    })) as RecordedKnowledge['calibrations'];
    const load = held.load?.cal_id;
    const inertia = utc_us === null ? null : told.entryAt(rig_id, 'inertia_kgm2', utc_us);
    // A zero under another calibration may be of another cell: it says nothing of this one.
    const ofThisCell = (z: KeptZero): boolean => z.retired_utc_us === null && calibrations.at(rig_id, 'load', z)?.cal_id === load;
    return {
      rig_id,
      magnets,
      calibrations: held,
      zeros: zeros.list(rig_id).filter(ofThisCell),
      checks: zeros.listChecks(rig_id).filter((c) => c.retired_utc_us === null),
      sheet: told.sheet(rig_id),
      entered: utc_us === null ? [] : enteredNames.flatMap((name) => {
        const entry = this.#entryFor(rig_id, name, utc_us);
        return entry === null ? [] : [{ entered_id: entry.entered_id, name, value: entry.value, u: entry.u, unit: entry.unit, age_s: (utc_us - entry.utc_us) / 1e6 }];
      }),
      inertia_kgm2: inertia === null ? null : known(inertia.value, 'kgm2', inertia.u, { id: `entered ${inertia.entered_id}: inertia_kgm2`, says: 'inertia of what turns', kind: 'systematic' }),
      warnings: inertia === null ? [] : this.#ofAnotherBuild(inertia, place),
    };
  }

  /** The last that applied; of a burner what it weighed when it was weighed again, and of its fuel also what was looked up later. */
  #entryFor(rig_id: number, name: EnteredName, utc_us: number): KeptEntry | null {
    const { told } = this.#records;
    const standing = (of: EnteredName): KeptEntry[] => told.entries(rig_id, of).filter((e) => e.retired_utc_us === null);
    const last = told.entryAt(rig_id, name, utc_us);
    if (LOOKED_UP.has(name)) return last ?? standing(name)[0] ?? null;
    if (name !== 'fuel_out_g') return last;
    const filled = told.entryAt(rig_id, 'fuel_in_g', utc_us);
    if (filled === null) return last;
    const refilled = standing('fuel_in_g').find((e) => e.utc_us > utc_us)?.utc_us ?? Infinity;
    const since = standing(name).filter((e) => e.utc_us > filled.utc_us && e.utc_us < refilled);
    return since.find((e) => e.utc_us >= utc_us) ?? since.at(-1) ?? last;
  }

  /** What to see to where the engine was another build when its inertia was entered: nothing, if no part of it differs. */
  #ofAnotherBuild({ entered_id, rig_id, utc_us, boot_id, tick }: KeptEntry, place: { readonly boot_id: number; readonly tick: number }): string[] {
    // Entered while nothing was recorded: the engine was what it was at the end of the record until then.
    const entered = boot_id === null || tick === null ? placeAtOrBefore(this.#db, rig_id, utc_us) : { boot_id, tick };
    if (entered === null) return [];
    const [then, now] = [entered, place].map(({ boot_id: boot, tick: at }) => this.#db.prepare<object, number | null>(`SELECT ${buildInUseSql('@boot', '@at')}`).pluck(true).get({ boot, at }) ?? null) as [number | null, number | null];
    if (then === now) return [];
    const parts = (build: number | null): Part[] => (build === null ? [] : this.#db.prepare<[number], Part>('SELECT name, part_id, material, mass_g, dimensions, note, photo, made_by, made_on FROM build_part WHERE build_id = ?').all(build));
    const [before, after] = [parts(then), parts(now)];
    // A build without parts tells nothing of what turns.
    const told = before.length > 0 && after.length > 0;
    const changed = [...new Set(differences(before, after).map((d) => d.part))];
    if (told && changed.length === 0) return [];
    return [`inertia_kgm2 was entered of another build (entry ${entered_id})${told ? `, and since then ${changed.join(', ')} changed` : ''}: measure it again if what turns was changed`];
  }

  /** The best rate known over a stretch, and the UTC of its beginning. @param nominal us a tick, where no map is known */
  clock(boot_id: number, tick_from: number, tick_to: number, nominal: number): Pick<RecordedSpan, 'us_per_tick' | 'u_us_per_tick' | 'from_utc_us'> {
    interface Piece {
      readonly tick_from: number;
      readonly utc_us: number;
      readonly us_per_tick: number;
      readonly u_ppm: number | null;
    }
    const pieces = this.#db
      .prepare<[number, number, number, number], Piece>(
        `SELECT tick_from, utc_us, us_per_tick, u_ppm FROM clock_map WHERE boot_id = ? AND tick_from <= ?
           AND tick_from >= coalesce((SELECT max(tick_from) FROM clock_map WHERE boot_id = ? AND tick_from <= ?), 0) ORDER BY tick_from`,
      )
      .all(boot_id, tick_to, boot_id, tick_from);
    const [first] = pieces;
    if (first === undefined) return { us_per_tick: nominal, u_us_per_tick: nominal * RATE_UNKNOWN_ppm * 1e-6, from_utc_us: null };
    const best = pieces.reduce((a, b) => ((b.u_ppm ?? RATE_UNKNOWN_ppm) < (a.u_ppm ?? RATE_UNKNOWN_ppm) ? b : a));
    return {
      us_per_tick: best.us_per_tick,
      u_us_per_tick: best.us_per_tick * (best.u_ppm ?? RATE_UNKNOWN_ppm) * 1e-6,
      from_utc_us: Math.round(first.utc_us + (tick_from - first.tick_from) * first.us_per_tick),
    };
  }

  #columns<S extends Stream>(stream: S, boot_id: number, from: number, to: number): Columns<S> {
    const { columns } = streams[stream];
    const [ticks, ...others] = this.#pages[stream];
    const kinds = Object.entries(columns) as [string, new (n: number) => Column][];
    let kept = kinds.map(([, Of]) => new Of(PAGE_rows));
    let n = 0;
    // In one look: a row that another process adds meanwhile must not stand in some of the columns only.
    const pageAfter = this.#db.transaction((after: number): (number | null)[][] => {
      const tick = ticks?.all(boot_id, after, to, PAGE_rows) ?? [];
      return [tick, ...others.map((column) => column.all(boot_id, after, tick.at(-1) ?? after, PAGE_rows))];
    });
    let after = from - 1;
    for (;;) {
      const page = pageAfter(after);
      const [tick = []] = page;
      // Kept page by page: as numbers in arrays a day of rows would not go into a gigabyte.
      if (n + tick.length > (kept[0]?.length ?? 0)) kept = kept.map((column, k) => longer(column, kinds[k]?.[1] ?? Float64Array));
      for (const [k, column] of kept.entries()) {
        const values = page[k] ?? [];
        for (let i = 0; i < values.length; i++) column[n + i] = values[i] ?? NaN;
      }
      n += tick.length;
      if (tick.length < PAGE_rows) break;
      after = tick.at(-1) ?? to;
    }
    const filled = kinds.map(([name], k) => [name, kept[k]?.subarray(0, n)] as const);
    return { n, ...Object.fromEntries(filled) } as unknown as Columns<S>;
  }
}

function longer(column: Column, Of: new (n: number) => Column): Column {
  const larger = new Of(2 * column.length);
  larger.set(column);
  return larger;
}

import type { Database } from 'better-sqlite3';

import type { Clock } from '../../clock.js';
import type { CheckRecord, Place, ZeroRecord } from '../../sense/calibration/record.js';
import { placeUtcSql } from './place.js';
import { keep, notKept, retire } from './kept.js';
import type { Kept, Told } from './kept.js';
import { Prepared } from './prepared.js';

/** utc_us: its place by the clock map as it was known when it was kept. */
export type KeptZero = ZeroRecord & Kept & { readonly utc_us: number };
export type KeptCheck = CheckRecord & Kept & { readonly utc_us: number };
export type ZeroDraft = Told<Omit<ZeroRecord, 'zero_id'>>;
export type CheckDraft = Told<Omit<CheckRecord, 'check_id'>>;

/** The zeros on either side of a place; null where there is none. */
export interface ZerosNear {
  readonly before: KeptZero | null;
  readonly after: KeptZero | null;
}

type CheckRow = Omit<KeptCheck, 'passed'> & { readonly passed: 0 | 1 | null };

const standing = 'rig_id = @rig_id AND retired_utc_us IS NULL';
/** At the place itself: before. */
const beforeSql = `${standing} AND (boot_id, tick) <= (@boot_id, @tick) ORDER BY boot_id DESC, tick DESC, zero_id DESC LIMIT 1`;
const afterSql = `${standing} AND (boot_id, tick) > (@boot_id, @tick) ORDER BY boot_id, tick, zero_id LIMIT 1`;

/** The load cell with nothing on it, and with a known mass: both are added and taken back, never changed. */
export class Zeros {
  readonly #db: Database;
  readonly #prepared: Prepared;
  readonly #clock: Clock;

  constructor(db: Database, clock: Clock) {
    this.#db = db;
    this.#prepared = new Prepared(db);
    this.#clock = clock;
  }

  /** @throws RECORD_REFUSED, FILE_READ_ONLY */
  keep(draft: ZeroDraft): KeptZero {
    const made_utc_us = Math.round(this.#clock.wall_us());
    const { lastInsertRowid } = keep(this.#db, () =>
      this.#db
        .prepare(
          `INSERT INTO zero(rig_id, boot_id, tick, tick_from, tick_to, utc_us, count, u_count, n, made_utc_us, author, remark)
           VALUES (@rig_id, @boot_id, @tick, @tick_from, @tick_to, ${placeUtcSql('@boot_id', '@tick')}, @count, @u_count, @n, @made_utc_us, @author, @remark)`,
        )
        .run({ ...draft, made_utc_us }),
    );
    return this.get(Number(lastInsertRowid));
  }

  /** @throws NOT_KEPT */
  get(zero_id: number): KeptZero {
    const row = this.#db.prepare<[number], KeptZero>('SELECT * FROM zero WHERE zero_id = ?').get(zero_id);
    if (row === undefined) throw notKept(this.#db, 'zero', 'zero_id', zero_id);
    return row;
  }

  /** In the order of their places, those taken back too. */
  list(rig_id: number): KeptZero[] {
    return this.#prepared.of<[number], KeptZero>('SELECT * FROM zero WHERE rig_id = ? ORDER BY boot_id, tick, zero_id').all(rig_id);
  }

  /** The zero at or before a place and the one after it, of those that stand. */
  near(rig_id: number, place: Place): ZerosNear {
    const at = { rig_id, boot_id: place.boot_id, tick: place.tick };
    return {
      before: this.#prepared.of<[object], KeptZero>(`SELECT * FROM zero WHERE ${beforeSql}`).get(at) ?? null,
      after: this.#prepared.of<[object], KeptZero>(`SELECT * FROM zero WHERE ${afterSql}`).get(at) ?? null,
    };
  }

  /** It was none, such as with a mass on the arm. @throws NOT_KEPT, ALREADY_RETIRED, FILE_READ_ONLY */
  retire(zero_id: number, remark: string): KeptZero {
    retire(this.#db, 'zero', 'zero_id', { id: zero_id, utc_us: Math.round(this.#clock.wall_us()), remark });
    return this.get(zero_id);
  }

  /** @throws RECORD_REFUSED, FILE_READ_ONLY */
  keepCheck(draft: CheckDraft): KeptCheck {
    const made_utc_us = Math.round(this.#clock.wall_us());
    const { lastInsertRowid } = keep(this.#db, () =>
      this.#db
        .prepare(
          `INSERT INTO check_mass(rig_id, boot_id, tick, tick_from, tick_to, utc_us, count, u_count, n, nominal_kg, cal_id, expected, read, unit, passed, made_utc_us, author, remark)
           VALUES (@rig_id, @boot_id, @tick, @tick_from, @tick_to, ${placeUtcSql('@boot_id', '@tick')}, @count, @u_count, @n, @nominal_kg, @cal_id, @expected, @read, @unit, @passed, @made_utc_us, @author, @remark)`,
        )
        .run({ ...draft, passed: draft.passed === null ? null : Number(draft.passed), made_utc_us }),
    );
    return this.getCheck(Number(lastInsertRowid));
  }

  /** @throws NOT_KEPT */
  getCheck(check_id: number): KeptCheck {
    const row = this.#db.prepare<[number], CheckRow>('SELECT * FROM check_mass WHERE check_id = ?').get(check_id);
    if (row === undefined) throw notKept(this.#db, 'check_mass', 'check_id', check_id);
    return checkOf(row);
  }

  /** In the order of their places, those taken back too. */
  listChecks(rig_id: number): KeptCheck[] {
    return this.#prepared.of<[number], CheckRow>('SELECT * FROM check_mass WHERE rig_id = ? ORDER BY boot_id, tick, check_id').all(rig_id).map(checkOf);
  }

  /** @throws NOT_KEPT, ALREADY_RETIRED, FILE_READ_ONLY */
  retireCheck(check_id: number, remark: string): KeptCheck {
    retire(this.#db, 'check_mass', 'check_id', { id: check_id, utc_us: Math.round(this.#clock.wall_us()), remark });
    return this.getCheck(check_id);
  }
}

const checkOf = (row: CheckRow): KeptCheck => ({ ...row, passed: row.passed === null ? null : row.passed === 1 });

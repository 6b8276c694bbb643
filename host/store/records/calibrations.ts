import type { Database } from 'better-sqlite3';

import type { Clock } from '../../clock.js';
import type { Channel, Model } from '../../sense/calibration/model.js';
import type { CalibrationRecord, Place } from '../../sense/calibration/record.js';
import { inForceSql } from './in_force.js';
import { keep, notKept, parsed, retire } from './kept.js';
import { Prepared } from './prepared.js';

/** A version that is to be kept: it gets its number and its date on keeping. */
export type CalibrationDraft = Omit<CalibrationRecord, 'cal_id' | 'made_utc_us' | 'retired_utc_us'>;

export interface KeptCalibration extends CalibrationRecord {
  /** The version that began this line of corrections. */
  readonly line_id: number;
  readonly retired_remark: string | null;
}

interface Row {
  readonly cal_id: number;
  readonly rig_id: number;
  readonly channel: Channel;
  readonly line_id: number;
  readonly boot_from: number;
  readonly tick_from: number;
  readonly boot_to: number | null;
  readonly tick_to: number | null;
  readonly model: string;
  readonly data: string;
  readonly made_utc_us: number;
  readonly author: string;
  readonly remark: string;
  readonly replaces: number | null;
  readonly retired_utc_us: number | null;
  readonly retired_remark: string | null;
}

const columns = `cal_id, rig_id, channel, line_id, boot_from, tick_from, boot_to, tick_to, model, data, made_utc_us, author, remark, replaces, retired_utc_us, retired_remark`;

/** Versions of calibrations: added and retired, never changed. */
export class Calibrations {
  readonly #db: Database;
  readonly #prepared: Prepared;
  readonly #clock: Clock;

  constructor(db: Database, clock: Clock) {
    this.#db = db;
    this.#prepared = new Prepared(db);
    this.#clock = clock;
  }

  /** @throws RECORD_REFUSED (another rig's boot, an empty span, a line of another channel), FILE_READ_ONLY */
  keep(draft: CalibrationDraft): KeptCalibration {
    return keep(this.#db, () => {
      const cal_id = (this.#db.prepare<[], { n: number | null }>('SELECT max(cal_id) AS n FROM calibration').get()?.n ?? 0) + 1;
      const line_id = draft.replaces === null ? cal_id : this.get(draft.replaces).line_id;
      this.#db
        .prepare(
          `INSERT INTO calibration(cal_id, rig_id, channel, line_id, boot_from, tick_from, boot_to, tick_to, model, data, made_utc_us, author, remark, replaces)
           VALUES (@cal_id, @rig_id, @channel, @line_id, @boot_from, @tick_from, @boot_to, @tick_to, @model, @data, @made_utc_us, @author, @remark, @replaces)`,
        )
        .run({
          cal_id,
          line_id,
          rig_id: draft.rig_id,
          channel: draft.channel,
          boot_from: draft.from.boot_id,
          tick_from: draft.from.tick,
          boot_to: draft.to?.boot_id ?? null,
          tick_to: draft.to?.tick ?? null,
          model: JSON.stringify(draft.model),
          data: JSON.stringify(draft.data ?? null),
          made_utc_us: Math.round(this.#clock.wall_us()),
          author: draft.author,
          remark: draft.remark,
          replaces: draft.replaces,
        });
      return this.get(cal_id);
    });
  }

  /** It holds nowhere from now on; what it said stays. @throws NOT_KEPT, ALREADY_RETIRED, FILE_READ_ONLY */
  retire(cal_id: number, remark: string): KeptCalibration {
    retire(this.#db, 'calibration', 'cal_id', { id: cal_id, utc_us: Math.round(this.#clock.wall_us()), remark });
    return this.get(cal_id);
  }

  /** @throws NOT_KEPT, RECORD_DAMAGED */
  get(cal_id: number): KeptCalibration {
    const row = this.#db.prepare<[number], Row>(`SELECT ${columns} FROM calibration WHERE cal_id = ?`).get(cal_id);
    if (row === undefined) throw notKept(this.#db, 'calibration', 'cal_id', cal_id);
    return recordOf(row);
  }

  /** Oldest first, retired ones too. @throws RECORD_DAMAGED */
  list(rig_id: number, channel?: Channel): KeptCalibration[] {
    const where = channel === undefined ? 'rig_id = ?' : 'rig_id = ? AND channel = ?';
    return this.#db.prepare<(number | string)[], Row>(`SELECT ${columns} FROM calibration WHERE ${where} ORDER BY cal_id`).all(rig_id, ...(channel === undefined ? [] : [channel])).map(recordOf);
  }

  /** The version that holds there, by the rule of inForce; null: none. @throws RECORD_DAMAGED */
  at(rig_id: number, channel: Channel, place: Place): KeptCalibration | null {
    const sql = `SELECT ${columns} FROM calibration WHERE cal_id = ${inForceSql('@rig_id', channel, '@boot_id', '@tick')}`;
    const row = this.#prepared.of<[object], Row>(sql).get({ rig_id, boot_id: place.boot_id, tick: place.tick });
    return row === undefined ? null : recordOf(row);
  }
}

function recordOf(row: Row): KeptCalibration {
  const { boot_from, tick_from, boot_to, tick_to, ...rest } = row;
  const what = `calibration ${row.cal_id}`;
  return {
    ...rest,
    from: { boot_id: boot_from, tick: tick_from },
    to: boot_to === null || tick_to === null ? null : { boot_id: boot_to, tick: tick_to },
    model: parsed(row.model, what) as Model,
    data: parsed(row.data, what),
  };
}

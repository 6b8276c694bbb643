import type { Database } from 'better-sqlite3';

import type { Place } from '../../sense/calibration/record.js';
import { placeUtcSql } from '../records/place.js';

/** Both ends belong to it; tick_to null: it goes on. */
export interface RunSpan {
  readonly boot_id: number;
  readonly tick_from: number;
  readonly tick_to: number | null;
}
export interface ClosedSpan extends RunSpan {
  readonly tick_to: number;
}

/**
 * The stretches of a run that count: what was left out of it is cut out, and one that goes on ends at the newest row.
 * @returns [] where all of it was left out
 */
export function stretchesOf(spans: readonly RunSpan[], exclusions: readonly ClosedSpan[], newest_tick: number): ClosedSpan[] {
  let parts: ClosedSpan[] = spans.map((s) => ({ boot_id: s.boot_id, tick_from: s.tick_from, tick_to: s.tick_to ?? newest_tick }));
  for (const gone of exclusions) {
    parts = parts.flatMap((p) => {
      if (gone.boot_id !== p.boot_id || gone.tick_from > p.tick_to || gone.tick_to < p.tick_from) return [p];
      return [{ ...p, tick_to: gone.tick_from - 1 }, { ...p, tick_from: gone.tick_to + 1 }].filter((q) => q.tick_to > q.tick_from);
    });
  }
  return parts;
}

/** How far the record of a boot reaches, in its ticks and in UTC. */
interface Reach {
  readonly boot_id: number;
  readonly tick_from: number;
  readonly tick_to: number;
  readonly from_us: number;
  readonly to_us: number;
}

/** Rows come in batches: a moment this soon after the last row is still of the same boot. */
const BEHIND_us = 5e6;

/** Of a rig, in order; boots without a row are left out. */
function reaches(db: Database, rig_id: number): Reach[] {
  const sql = `SELECT r.*, ${placeUtcSql('r.boot_id', 'r.tick_from')} AS from_us, ${placeUtcSql('r.boot_id', 'r.tick_to')} AS to_us
    FROM (SELECT b.boot_id, b.tick_first AS tick_from, (SELECT max(tick_last) FROM tally t WHERE t.boot_id = b.boot_id) AS tick_to FROM boot b WHERE b.rig_id = ?) r
    WHERE r.tick_to >= r.tick_from ORDER BY r.boot_id`;
  return db.prepare<[number], Reach>(sql).all(rig_id);
}

/** From the first row to the last, in UTC; null: nothing is recorded. */
export function recordReach(db: Database, rig_id: number): { readonly from_us: number; readonly to_us: number } | null {
  const all = reaches(db, rig_id);
  const [first, last] = [all[0], all.at(-1)];
  return first === undefined || last === undefined ? null : { from_us: first.from_us, to_us: last.to_us };
}

/** What is recorded of a rig from one moment to another, boot by boot; [] where nothing is. */
export function spansBetween(db: Database, rig_id: number, from_us: number, to_us: number): ClosedSpan[] {
  const all = reaches(db, rig_id);
  return all.flatMap((r, i) => {
    const end_us = i === all.length - 1 ? r.to_us + BEHIND_us : r.to_us;
    if (from_us > end_us || to_us < r.from_us) return [];
    const tick_from = Math.max(r.tick_from, tickAt(db, r.boot_id, from_us));
    const tick_to = to_us > end_us ? r.tick_to : Math.max(tick_from, tickAt(db, r.boot_id, to_us));
    return [{ boot_id: r.boot_id, tick_from, tick_to }];
  });
}

/** The place of a moment, if it is recorded (or is just about to be); null: it is not. */
export function placeOf(db: Database, rig_id: number, utc_us: number): Place | null {
  const span = spansBetween(db, rig_id, utc_us, utc_us)[0];
  return span === undefined ? null : { boot_id: span.boot_id, tick: span.tick_from };
}

/** The last place at or before a moment, whatever is recorded there; null: it is before the record. */
export function placeAtOrBefore(db: Database, rig_id: number, utc_us: number): Place | null {
  const before = reaches(db, rig_id).filter((r) => r.from_us <= utc_us).at(-1);
  if (before === undefined) return null;
  return { boot_id: before.boot_id, tick: Math.max(before.tick_from, utc_us > before.to_us + BEHIND_us ? before.tick_to + 1 : tickAt(db, before.boot_id, utc_us)) };
}

/** By the clock map of that boot: the piece that holds then, before the first one the first. */
function tickAt(db: Database, boot_id: number, utc_us: number): number {
  const sql = `SELECT CAST(round(m.tick_from + (@utc_us - m.utc_us) / m.us_per_tick) AS INTEGER) AS tick FROM clock_map m WHERE m.boot_id = @boot_id AND m.tick_from = coalesce(
      (SELECT max(p.tick_from) FROM clock_map p WHERE p.boot_id = @boot_id AND p.utc_us <= @utc_us), (SELECT min(p.tick_from) FROM clock_map p WHERE p.boot_id = @boot_id))
    UNION ALL SELECT CAST(round((@utc_us - b.started_utc_us) * 1e-6 * b.clock_Hz / b.cycles_per_tick) AS INTEGER) FROM boot b WHERE b.boot_id = @boot_id`;
  return Math.max(0, db.prepare<[object], { tick: number }>(sql).get({ boot_id, utc_us })?.tick ?? 0);
}

import type { Place } from '../../sense/calibration/record.js';

/** Before, at or after: boots of one rig are numbered in the order in which they began. */
export function comparePlaces(a: Place, b: Place): number {
  return a.boot_id - b.boot_id || a.tick - b.tick;
}

/** From `from` up to but not including `to`; null: without an end. */
export function covers(span: { readonly from: Place; readonly to: Place | null }, place: Place): boolean {
  return comparePlaces(span.from, place) <= 0 && (span.to === null || comparePlaces(place, span.to) < 0);
}

/** UTC of a place by the clock map, in microseconds; before there is one, by the start of the boot. A subquery; both are SQL terms. */
export const placeUtcSql = (boot_id: string, tick: string): string => `(
  SELECT CAST(round(coalesce(m.utc_us + (${tick} - m.tick_from) * m.us_per_tick, b.started_utc_us + ${tick} * 1e6 * b.cycles_per_tick / b.clock_Hz)) AS INTEGER)
  FROM boot b LEFT JOIN clock_map m ON m.boot_id = b.boot_id AND m.tick_from = coalesce(
    (SELECT max(p.tick_from) FROM clock_map p WHERE p.boot_id = b.boot_id AND p.tick_from <= ${tick}),
    (SELECT min(p.tick_from) FROM clock_map p WHERE p.boot_id = b.boot_id))
  WHERE b.boot_id = ${boot_id})`;

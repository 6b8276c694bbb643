import type { Place } from '../../sense/calibration/record.js';

/** Before, at or after: boots of one rig are numbered in the order in which they began. */
export function comparePlaces(a: Place, b: Place): number {
  return a.boot_id - b.boot_id || a.tick - b.tick;
}

/** From `from` up to but not including `to`; null: without an end. */
export function covers(span: { readonly from: Place; readonly to: Place | null }, place: Place): boolean {
  return comparePlaces(span.from, place) <= 0 && (span.to === null || comparePlaces(place, span.to) < 0);
}

import type { Place } from '../../sense/calibration/record.js';
import type { Knowledge, Span } from '../span.js';

/** Middle of the span. */
export const middleOf = (span: Span): number => (span.tick_from + span.tick_to) / 2;

/** `boot 3, tick 81233`: what the noise of this span is called. */
export const idOf = ({ boot_id, tick_from }: Span): string => `boot ${boot_id}, tick ${tick_from}`;

/** `rig 3`: its converters, which err alike in all its readings. */
export function rigOf(knowledge: Knowledge): string {
  const rig_id = knowledge.rig_id ?? Object.values(knowledge.calibrations)[0]?.rig_id ?? knowledge.zeros[0]?.rig_id;
  return rig_id === undefined ? 'rig' : `rig ${rig_id}`;
}

/** Seconds from the middle of the span to a place: by board time within its boot, else by UTC; null: not known. */
export function apart_s(span: Span, place: Place & { readonly utc_us?: number }): number | null {
  const middle = middleOf(span);
  if (place.boot_id === span.boot_id) return ((place.tick - middle) * span.us_per_tick) / 1e6;
  if (place.utc_us === undefined || span.from_utc_us === null) return null;
  return (place.utc_us - span.from_utc_us - (middle - span.tick_from) * span.us_per_tick) / 1e6;
}

/** Index of the first of `n` ticks at or after `tick`, by halving. */
export function firstAt(ticks: ArrayLike<number>, n: number, tick: number): number {
  let low = 0;
  let high = n;
  while (low < high) {
    const mid = (low + high) >> 1;
    if ((ticks[mid] as number) < tick) low = mid + 1;
    else high = mid;
  }
  return low;
}

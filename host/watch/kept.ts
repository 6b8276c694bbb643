import type { AlarmRow } from '../store/watch/log.js';
import type { Alarm } from './latch.js';
import type { WatchEvent } from './watch.js';

/** What stands when a program begins: alarms that were never cleared, as their changes leave them. */
export function openAlarms(rows: readonly AlarmRow[]): Alarm[] {
  const open = new Map<number, Alarm>();
  for (const { alarm_id, name, change, level, utc_us, value, limit_value: limit, unit, says, author } of rows) {
    const before = open.get(alarm_id);
    const now = before ?? { alarm_id, name, level, raised_utc_us: utc_us, present: true, acknowledged: null, quiet_until_s: -Infinity, value, limit, unit, says, worst: { value, limit, says } };
    const anew = change === 'rose' || change === 'back';
    open.set(alarm_id, {
      ...now,
      level,
      says,
      value,
      limit,
      worst: { value, limit, says },
      present: change === 'gone' ? false : anew ? true : now.present,
      acknowledged: change === 'acknowledged' ? { by: author ?? 'unknown', utc_us } : anew ? null : now.acknowledged,
    });
  }
  return [...open.values()];
}

export const rowOf = ({ limit, by, ...event }: WatchEvent, place: { readonly boot_id: number | null; readonly tick: number | null }): Omit<AlarmRow, 'event_id'> => ({ ...event, ...place, limit_value: limit, author: by });

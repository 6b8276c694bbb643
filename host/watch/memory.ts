import { sensorNames } from './seen.js';
import type { Seen, SensorName } from './seen.js';

/** What the watch must remember of what it saw. */
export interface Memory {
  /** Sensors that measured for a while: from then on their loss is told. */
  readonly worked: ReadonlySet<SensorName | 'flow' | 'board'>;
  /** Since when each measures without a break. */
  readonly since_s: Readonly<Partial<Record<SensorName, number>>>;
  /** The last measured; what is not measured any more is taken to be as hot as it was. */
  readonly hot_C: number | null;
  /** The hot end, smoothed over the last seconds: above what is measured while it cools. */
  readonly hot_before_C: number | null;
  /** Speed while it turned, over the last seconds, until the bench is cold. */
  readonly usual_rpm: number | null;
  /** Pulses a second while the coolant flowed. */
  readonly usual_Hz: number | null;
  readonly t_s: number | null;
  /** Since when the board is live and says something, without a break. */
  readonly live_s: number | null;
}

export const nothingSeen: Memory = { worked: new Set(), since_s: {}, hot_C: null, hot_before_C: null, usual_rpm: null, usual_Hz: null, t_s: null, live_s: null };

/** So long without a break a sensor measures before it counts as one that works. */
const WORKS_s = 1;
const SPEED_OVER_s = 3;
const HOT_OVER_s = 20;
/** A hot end that is this far below where it was cools: nothing heats it. Twenty seconds of 0.1 K/s; eight steps of its converter. */
export const COOLS_K = 2;
/** No more is kept in mind, so that one that is heated again is seen to be within seconds. */
const HOT_BEFORE_MOST_K = 2 * COOLS_K;
/** The board sends some ten messages a second. */
const SILENT_s = 0.6;

/** Whether the board is there and speaks. */
export const heard = ({ down, silent_s }: Seen): boolean => down === null && (silent_s ?? 0) <= SILENT_s;

export function remembered(memory: Memory, seen: Seen, cold_C: number): Memory {
  const worked = new Set(memory.worked);
  const since_s: Partial<Record<SensorName, number>> = {};
  for (const name of sensorNames) {
    if (seen[name].value === null) continue;
    const from_s = memory.since_s[name] ?? seen.t_s;
    since_s[name] = from_s;
    if (seen.t_s - from_s >= WORKS_s) worked.add(name);
  }
  const rate_Hz = seen.flow?.pulse_rate_Hz ?? null;
  if (rate_Hz !== null) worked.add('flow');
  if (seen.down === null && seen.silent_s !== null) worked.add('board');
  const hot_C = seen.hot.value ?? memory.hot_C;
  const hot_before_C = seen.hot.value === null ? null : hotBefore_C(memory, seen.hot.value, seen.t_s);
  const cold = seen.hot.value !== null && seen.hot.value < cold_C;
  const { shaft, flow } = seen;
  const turning = shaft?.state === 'turning' && shaft.speed_rpm > 0;
  const share = Math.min(1, memory.t_s === null ? 1 : (seen.t_s - memory.t_s) / SPEED_OVER_s);
  const before_rpm = cold && !turning ? null : memory.usual_rpm;
  const usual_rpm = !turning ? before_rpm : before_rpm === null ? shaft.speed_rpm : before_rpm + share * (shaft.speed_rpm - before_rpm);
  // A rate that only falls because a pulse is overdue is not the one it had.
  const timed = rate_Hz !== null && rate_Hz > 0 && (flow?.pulse_age_s ?? 0) * rate_Hz < 0.9;
  return { worked, since_s, hot_C, hot_before_C, usual_rpm, usual_Hz: timed ? rate_Hz : memory.usual_Hz, t_s: seen.t_s, live_s: heard(seen) ? (memory.live_s ?? seen.t_s) : null };
}

function hotBefore_C({ hot_before_C, t_s }: Memory, hot_C: number, now_s: number): number {
  if (hot_before_C === null || t_s === null) return hot_C;
  const smoothed_C = hot_before_C + Math.min(1, (now_s - t_s) / HOT_OVER_s) * (hot_C - hot_before_C);
  return Math.min(Math.max(smoothed_C, hot_C), hot_C + HOT_BEFORE_MOST_K);
}

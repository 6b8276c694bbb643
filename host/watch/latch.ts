import { worse } from './rule.js';
import type { Judgement, Level, Rule } from './rule.js';

/** What is told of one alarm, from its beginning until it was acknowledged and its cause is gone. */
export interface Alarm {
  readonly alarm_id: number;
  readonly name: string;
  /** The worst that it came to: it does not fall by itself. */
  readonly level: Exclude<Level, 'none'>;
  readonly raised_utc_us: number;
  /** null: it cannot be judged now, so it may well be there. */
  readonly present: boolean | null;
  readonly acknowledged: { readonly by: string; readonly utc_us: number } | null;
  /** Bench time until which it is kept quiet. */
  readonly quiet_until_s: number;
  readonly value: number | null;
  readonly limit: number | null;
  readonly unit: string;
  readonly says: string;
  /** The same when it was at its worst: what is told of it when it is over. */
  readonly worst: { readonly value: number | null; readonly limit: number | null; readonly says: string };
}

export type Change = 'raised' | 'rose' | 'gone' | 'back' | 'acknowledged' | 'muted' | 'unmuted' | 'cleared';

/** One rule over time. level: what holds now, after the hold time; alarm: what is latched. */
export interface Latch {
  readonly level: Level;
  readonly blind: string | null;
  /** Since when it would be at least so bad, and since when better than it is. */
  readonly warn_s: number | null;
  readonly alarm_s: number | null;
  readonly better_s: number | null;
  readonly alarm: Alarm | null;
}

export const still: Latch = { level: 'none', blind: 'nothing was looked at yet', warn_s: null, alarm_s: null, better_s: null, alarm: null };

/** What was bad counts as gone only after this. */
const GONE_s = 2;

export interface Moment {
  readonly t_s: number;
  readonly utc_us: number;
  /** For an alarm that begins. */
  readonly alarm_id: number;
}

/** One look. @returns the latch after it, and what changed, to be logged in this order */
export function looked(latch: Latch, rule: Rule, judged: Judgement, now: Moment): { readonly latch: Latch; readonly changes: readonly Change[] } {
  if (judged.blind !== null) {
    // What cannot be judged is not gone.
    const alarm = latch.alarm === null ? null : { ...latch.alarm, present: latch.alarm.present === false ? false : null };
    return { latch: { ...latch, blind: judged.blind, warn_s: null, alarm_s: null, better_s: null, alarm }, changes: [] };
  }
  const { t_s } = now;
  const warn_s = judged.level === 'none' ? null : (latch.warn_s ?? t_s);
  const alarm_s = judged.level === 'alarm' ? (latch.alarm_s ?? t_s) : null;
  const better_s = worse(latch.level, judged.level) ? (latch.better_s ?? t_s) : null;
  const held = (since_s: number | null): boolean => since_s !== null && t_s - since_s >= rule.hold_s;
  let level = latch.level;
  if (held(alarm_s)) level = 'alarm';
  else if (held(warn_s) && level === 'none') level = 'warn';
  else if (better_s !== null && t_s - better_s >= GONE_s) level = judged.level;
  const next = { level, blind: null, warn_s, alarm_s, better_s: level === judged.level ? null : better_s };
  const { alarm, changes } = alarmAfter(latch, level, rule, judged, now);
  return { latch: { ...next, alarm }, changes };
}

function alarmAfter({ alarm: old, level: was }: Latch, level: Level, { name }: Rule, judged: Extract<Judgement, { blind: null }>, now: Moment): { alarm: Alarm | null; changes: readonly Change[] } {
  const { value, limit, unit, says } = judged;
  if (old === null) {
    if (level === 'none') return { alarm: null, changes: [] };
    const alarm = { alarm_id: now.alarm_id, name, level, raised_utc_us: now.utc_us, present: true, acknowledged: null, quiet_until_s: -Infinity, value, limit, unit, says, worst: { value, limit, says } };
    return { alarm, changes: ['raised'] };
  }
  if (level === 'none') {
    if (old.acknowledged !== null) return { alarm: null, changes: old.present === false ? ['cleared'] : ['gone', 'cleared'] };
    return old.present === false ? { alarm: old, changes: [] } : { alarm: { ...old, ...old.worst, present: false }, changes: ['gone'] };
  }
  // A cause that has grown worse, or has come back, was not what somebody acknowledged or made quiet.
  const rose = worse(level, was === 'none' ? old.level : was);
  const back = old.present === false;
  const anew = rose || back ? { acknowledged: null, quiet_until_s: -Infinity } : {};
  const highest = worse(level, old.level) ? level : old.level;
  const told = judged.level === 'none' ? {} : { value, limit, unit, says };
  const worst = judged.level === highest ? { value, limit, says } : old.worst;
  return { alarm: { ...old, ...anew, ...told, worst, present: true, level: highest }, changes: [...(back ? (['back'] as const) : []), ...(rose ? (['rose'] as const) : [])] };
}

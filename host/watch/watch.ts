import { still, looked } from './latch.js';
import type { Alarm, Change, Latch } from './latch.js';
import type { Limits } from './limits.js';
import { nothingSeen, remembered } from './memory.js';
import type { Memory } from './memory.js';
import { rules } from './rules.js';
import type { Cause, Level, Rule } from './rule.js';
import type { Seen } from './seen.js';
import { stillHot } from './still_hot.js';

/** One line of the log. */
export interface WatchEvent {
  readonly alarm_id: number;
  readonly name: string;
  readonly cause: Cause;
  readonly change: Change;
  readonly level: Exclude<Level, 'none'>;
  readonly utc_us: number;
  readonly value: number | null;
  readonly limit: number | null;
  readonly unit: string;
  readonly says: string;
  /** Who acknowledged or muted; null: nobody did this. */
  readonly by: string | null;
}

/** An alarm as it is shown. */
export interface AlarmView extends Omit<Alarm, 'quiet_until_s' | 'worst'> {
  readonly cause: Cause;
  /** Whether it is to be heard now. */
  readonly sounds: boolean;
  /** Seconds of quiet that are left; 0: none. */
  readonly quiet_s: number;
}

export interface WatchView {
  /** The most urgent, in one sentence; null: nothing is known to be wrong. */
  readonly urgent: string | null;
  /** What is to be heard; null: nothing. */
  readonly sound: { readonly cause: Cause; readonly level: Exclude<Level, 'none'> } | null;
  /** Most urgent first. */
  readonly alarms: readonly AlarmView[];
  /** Such as still_hot. */
  readonly states: readonly { readonly name: string; readonly says: string }[];
  /** What cannot be watched now, and why. */
  readonly blind: readonly { readonly name: string; readonly why: string }[];
  readonly advises: string;
}

export const ADVISES = 'The watch advises and protects nobody: what cuts off the heat or stops the engine must be independent hardware that works with this bench switched off.';

/** Nothing of over-temperature is quiet for longer. */
export const QUIET_HOT_MAX_min = 2;

/** All rules over time. Values in, events out; whoever calls it keeps them. */
export class Watch {
  limits: Limits;
  #memory: Memory = nothingSeen;
  #states: WatchView['states'] = [];
  readonly #latches = new Map<string, Latch>(rules.map((rule) => [rule.name, still]));
  #next_id: number;

  /** @param next_id of the next alarm; @param open those that an earlier run left */
  constructor(limits: Limits, next_id = 1, open: readonly Alarm[] = []) {
    this.limits = limits;
    this.#next_id = next_id;
    const worked = new Set(nothingSeen.worked);
    for (const alarm of open) {
      const rule = rules.find((r) => r.name === alarm.name);
      if (rule === undefined) continue;
      if (rule.of !== undefined) worked.add(rule.of);
      this.#latches.set(alarm.name, { ...still, level: alarm.present === false ? 'none' : alarm.level, blind: 'not judged since the start', alarm: { ...alarm, present: alarm.present === false ? false : null, quiet_until_s: -Infinity } });
    }
    this.#memory = { ...nothingSeen, worked };
  }

  look(seen: Seen): WatchEvent[] {
    this.#memory = remembered(this.#memory, seen, this.limits.touch_C);
    this.#states = stillHot(seen, this.#memory, this.limits.touch_C);
    return rules.flatMap((rule) => {
      const before = this.#latch(rule);
      const judged = rule.judge(seen, this.#memory, this.limits, before.level);
      const { latch, changes } = looked(before, rule, judged, { t_s: seen.t_s, utc_us: seen.utc_us, alarm_id: this.#next_id });
      if (changes.includes('raised')) this.#next_id++;
      this.#latches.set(rule.name, latch);
      const of = latch.alarm ?? before.alarm;
      return of === null ? [] : changes.map((change) => eventOf(change === 'gone' || change === 'cleared' ? { ...of, ...of.worst } : of, rule, change, seen.utc_us, null));
    });
  }

  /** @param name of one, or null: all that stand; @returns nothing where there is none to acknowledge */
  acknowledge(name: string | null, by: string, { t_s, utc_us }: { readonly t_s: number; readonly utc_us: number }): WatchEvent[] {
    return this.#each(name, (rule, latch, alarm) => {
      if (alarm.acknowledged !== null) return [];
      const acknowledged: Alarm = { ...alarm, acknowledged: { by, utc_us }, quiet_until_s: Math.max(alarm.quiet_until_s, t_s + QUIET_HOT_MAX_min * 60) };
      const gone = alarm.present === false;
      this.#latches.set(rule.name, { ...latch, alarm: gone ? null : acknowledged });
      return (gone ? (['acknowledged', 'cleared'] as const) : (['acknowledged'] as const)).map((change) => eventOf(alarm, rule, change, utc_us, by));
    });
  }

  /** Keeps quiet what stands now, not what comes later. @param minutes 0: heard again */
  mute(minutes: number, by: string, { t_s, utc_us }: { readonly t_s: number; readonly utc_us: number }): WatchEvent[] {
    return this.#each(null, (rule, latch, alarm) => {
      const most = hotAlarm(rule, alarm) ? QUIET_HOT_MAX_min : Infinity;
      if (minutes === 0 && alarm.quiet_until_s <= t_s) return [];
      this.#latches.set(rule.name, { ...latch, alarm: { ...alarm, quiet_until_s: minutes === 0 ? -Infinity : t_s + Math.min(minutes, most) * 60 } });
      return [eventOf(alarm, rule, minutes === 0 ? 'unmuted' : 'muted', utc_us, by)];
    });
  }

  view(t_s: number): WatchView {
    const alarms = rules
      .flatMap((rule, order) => {
        const { alarm } = this.#latch(rule);
        return alarm === null ? [] : [{ order, view: viewOf(alarm, rule, t_s) }];
      })
      .toSorted((a, b) => urgency(b.view) - urgency(a.view) || a.order - b.order)
      .map(({ view }) => view);
    const [first] = alarms;
    const heard = alarms.find((alarm) => alarm.sounds);
    return {
      urgent: first === undefined ? (this.#states[0]?.says ?? null) : sentence(first),
      sound: heard === undefined ? null : { cause: heard.cause, level: heard.level },
      alarms,
      states: this.#states,
      blind: rules.flatMap((rule) => {
        const { blind } = this.#latch(rule);
        return rule.guards && blind !== null ? [{ name: rule.name, why: blind }] : [];
      }),
      advises: ADVISES,
    };
  }

  #latch(rule: Rule): Latch {
    return this.#latches.get(rule.name) ?? still;
  }

  #each(name: string | null, act: (rule: Rule, latch: Latch, alarm: Alarm) => WatchEvent[]): WatchEvent[] {
    return rules.flatMap((rule) => {
      const latch = this.#latch(rule);
      return latch.alarm === null || (name !== null && rule.name !== name) ? [] : act(rule, latch, latch.alarm);
    });
  }
}

const hotAlarm = (rule: Rule, alarm: Alarm): boolean => rule.over_temperature && alarm.level === 'alarm' && alarm.present !== false;

function viewOf(full: Alarm, rule: Rule, t_s: number): AlarmView {
  const { alarm_id, name, level, raised_utc_us, present, acknowledged, quiet_until_s, value, limit, unit, says } = full;
  const quiet_s = Math.max(0, Math.ceil(quiet_until_s - t_s - 1e-6));
  const hot = hotAlarm(rule, full);
  const heard = hot || acknowledged === null;
  return { alarm_id, name, cause: rule.cause, level, raised_utc_us, present, acknowledged, value, limit, unit, says, sounds: heard && quiet_s === 0, quiet_s: heard ? quiet_s : 0 };
}

/** What nobody acknowledged goes before what is known; what is there before what is gone; then the worse, then the engine. */
function urgency({ level, cause, present, acknowledged }: AlarmView): number {
  return (level === 'alarm' ? 16 : 0) + (present === false ? 0 : 8) + (acknowledged === null ? 4 : 0) + (cause === 'engine' ? 2 : 0);
}

function sentence({ says, present }: AlarmView): string {
  if (present === false) return `Over, but nobody acknowledged it: ${says}`;
  return present === null ? `Not judged now, so take it for true: ${says}` : says;
}

function eventOf(alarm: Alarm, { name, cause }: Rule, change: Change, utc_us: number, by: string | null): WatchEvent {
  const { alarm_id, level, value, limit, unit, says } = alarm;
  return { alarm_id, name, cause, change, level, utc_us, value, limit, unit, says, by };
}

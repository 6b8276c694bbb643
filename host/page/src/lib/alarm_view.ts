import type { AlarmView, WatchView } from '../../../watch/watch.js';
import type { Freshness } from './stale.js';
import { clockText, lasting } from './words.js';

/** What the banner says, without a document. Pure. */

export interface AlarmRow {
  /** Colour is never the only cue: the word stands there. */
  readonly level: 'ALARM' | 'WARNING';
  readonly name: string;
  readonly says: string;
  /** Such as `since 10:20:04, over, not acknowledged, quiet for 2 min`. */
  readonly state: string;
}
export interface Banner {
  /** null: nothing stands, the banner is away. */
  readonly level: 'alarm' | 'warn' | null;
  /** Engine and instrument are told apart by word and shape, as by ear. */
  readonly cause: 'engine' | 'instrument';
  readonly head: string;
  readonly rows: readonly AlarmRow[];
  /** Such as still hot. */
  readonly states: readonly string[];
  readonly acknowledge: boolean;
  readonly mute: boolean;
  readonly unmute: boolean;
  readonly advises: string;
}

export const alarmNames: Readonly<Record<string, string>> = {
  hot_end: 'hot end', coolant_out: 'coolant out', coolant_rise: 'coolant rise', no_flow: 'no flow', over_speed: 'over-speed', stall_hot: 'stopped while hot',
  hot_sensor: 'hot end sensor', coolant_in_sensor: 'coolant in sensor', coolant_out_sensor: 'coolant out sensor', skin_sensor: 'skin sensor', flow_sensor: 'flow meter',
  load_cell: 'load cell', board_silent: 'board silent', record: 'not recorded', couple_poles: 'thermocouple poles', coolant_swapped: 'coolant sensors swapped', torque_sign: 'torque below nothing',
};
export const alarmName = (name: string): string => alarmNames[name] ?? name.replaceAll('_', ' ');

function stateOf({ present, acknowledged, quiet_s, raised_utc_us }: AlarmView): string {
  const words = [`since ${clockText(raised_utc_us)}`];
  if (present === false) words.push('over');
  if (present === null) words.push('cannot be judged now');
  words.push(acknowledged === null ? 'not acknowledged' : `acknowledged by ${acknowledged.by}`);
  if (quiet_s > 0) words.push(`quiet for ${lasting(quiet_s)}`);
  return words.join(', ');
}

export function bannerOf(watch: WatchView | null): Banner {
  const alarms = watch?.alarms ?? [];
  const [first] = alarms;
  const common = { states: (watch?.states ?? []).map((s) => s.says), advises: watch?.advises ?? '' };
  if (first === undefined) return { level: null, cause: 'engine', head: '', rows: [], acknowledge: false, mute: false, unmute: false, ...common };
  const rows = alarms.map((alarm) => ({ level: alarm.level === 'alarm' ? ('ALARM' as const) : ('WARNING' as const), name: alarmName(alarm.name), says: alarm.says, state: stateOf(alarm) }));
  const more = alarms.length - 1;
  return {
    level: first.level,
    cause: first.cause,
    head: `${first.level === 'alarm' ? 'ALARM' : 'WARNING'} (${first.cause}): ${alarmName(first.name)}${more === 0 ? '' : `, and ${more} more`}`,
    rows,
    acknowledge: alarms.some((a) => a.acknowledged === null),
    mute: alarms.some((a) => a.sounds),
    unmute: alarms.some((a) => a.quiet_s > 0),
    ...common,
  };
}

/** What to say of the sound; null: it can be heard, or there is nothing to hear. @param heard whether the browser lets it be heard */
export function soundNote(heard: boolean, freshness: Freshness): string | null {
  if (heard || freshness === 'connecting') return null;
  return 'Sound is off until you tap the page or press a key: no alarm would be heard.';
}

import { userInfo } from 'node:os';

import type { Command } from 'commander';

import { fail } from '../errors.js';
import type { SettingLine } from '../serve/told_lines.js';
import type { WatchAct } from '../serve/watch_desk.js';
import type { AlarmRow, LimitTelling } from '../store/watch/log.js';
import type { AlarmView, WatchView } from '../watch/watch.js';
import { columns } from './output.js';
import type { Output } from './output.js';
import { addRecordOptions, onWatchOf } from './record_desk.js';
import type { RecordOptions } from './record_desk.js';

interface Read extends WatchView {
  readonly simulated: boolean | null;
  readonly limits: readonly SettingLine[];
  readonly history: readonly LimitTelling[];
  readonly changes: readonly AlarmRow[];
}
interface Done extends WatchView {
  readonly done: readonly { readonly alarm_id: number; readonly name: string; readonly change: string }[];
}

export function addWatch(program: Command, output: Output): void {
  const group = addRecordOptions(program.command('watch')).description('what is wrong and what to look at; limits; acknowledge and mute. It advises: a cut-out must be independent hardware');
  const post = <T>(options: RecordOptions, act: WatchAct): Promise<T> => onWatchOf<T>(options, act);
  const sub = (words: string): Command => addRecordOptions(group.command(words));
  /** Options may stand before or behind the second word. */
  const all = (own: Command): RecordOptions => own.optsWithGlobals();

  group.action(async (options: RecordOptions) => {
    const read = await onWatchOf<Read>(options, null);
    output.data(read, `${read.simulated === true ? 'SIMULATED\n' : ''}${stateText(read)}`);
  });
  sub('limits')
    .description('every limit, with its preset and where that is from')
    .action(async (_options: unknown, own: Command) => {
      const { limits, simulated } = await onWatchOf<Read>(all(own), null);
      output.data(limits.map((l) => ({ ...l, simulated })), limitsText(limits));
    });
  sub('limit')
    .argument('<words...>', 'NAME=VALUE, or NAME=preset to go back; a warning and its alarm together')
    .option('--remark <text>', 'why', '')
    .description('change limits; every change is kept')
    .action(async (words: string[], options: { remark: string }, own: Command) => {
      const limits = Object.fromEntries(words.map(wishOf));
      const read = await post<Read>(all(own), { does: 'limit', limits, remark: options.remark, by: author() });
      const shown = read.limits.filter((l) => l.name in limits);
      output.data(shown.map((l) => ({ ...l, simulated: read.simulated })), limitsText(shown));
    });
  sub('log')
    .description('the last changes of alarms, newest first')
    .action(async (_options: unknown, own: Command) => {
      const { changes, simulated } = await onWatchOf<Read>(all(own), null);
      output.data(changes.map((c) => ({ ...c, simulated })), changes.length === 0 ? 'no alarm was ever raised' : columns(changes.map((c) => [time(c.utc_us), c.name, c.level, c.change, c.author ?? '', c.says])));
    });
  sub('ack')
    .argument('[name]', 'of one alarm; none: all that stand')
    .description('acknowledge: seen, and somebody sees to it')
    .action(async (name: string | undefined, _options: unknown, own: Command) => {
      told(output, await post<Done>(all(own), { does: 'acknowledge', ...(name === undefined ? {} : { name }), by: author() }), 'nothing stands that is not acknowledged');
    });
  sub('mute')
    .argument('[minutes]', '1 to 15; too hot is heard again after 2 at the latest', '5')
    .description('keep quiet what sounds now; what comes later is heard')
    .action(async (minutes: string, _options: unknown, own: Command) => {
      if (!/^\d+(\.\d+)?$/.test(minutes)) throw fail('WRONG_USE', { word: minutes, why: 'must be minutes, from 1 to 15' });
      told(output, await post<Done>(all(own), { does: 'mute', minutes: Number(minutes), by: author() }), 'nothing sounds');
    });
  sub('unmute')
    .description('what is kept quiet is heard again')
    .action(async (_options: unknown, own: Command) => told(output, await post<Done>(all(own), { does: 'unmute', by: author() }), 'nothing was kept quiet'));
}

function told(output: Output, done: Done, none: string): void {
  output.data(done, done.done.length === 0 ? none : `${done.done.map((d) => `${d.name} ${d.change}`).join(', ')}\n${stateText(done)}`);
}

function stateText({ urgent, alarms, states, blind, advises }: WatchView): string {
  return [
    urgent ?? 'Nothing is known to be wrong.',
    ...(alarms.length === 0 ? [] : ['', columns(alarms.map(alarmRow))]),
    ...(states.length === 0 ? [] : ['', ...states.map((s) => s.says)]),
    ...(blind.length === 0 ? [] : ['', `Cannot be watched: ${blind.map((b) => `${b.name} (${b.why})`).join('; ')}.`]),
    '',
    advises,
  ].join('\n');
}

function alarmRow({ name, level, present, acknowledged, quiet_s, says, raised_utc_us }: AlarmView): string[] {
  const is = present === null ? 'not judged now' : present ? 'there' : 'over';
  const seen = acknowledged === null ? 'not acknowledged' : `acknowledged by ${acknowledged.by}`;
  return [level, name, is, seen, quiet_s > 0 ? `quiet for ${quiet_s} s` : '', `since ${time(raised_utc_us)}`, says];
}

const limitsText = (limits: readonly SettingLine[]): string =>
  columns([['name', 'value', 'unit', '', 'what', 'preset from'], ...limits.map((l) => [l.name, String(l.value), l.unit, l.told ? 'told' : 'preset', l.says, l.told ? '' : l.source])]);
const time = (utc_us: number): string => new Date(utc_us / 1000).toISOString();

/** @throws WRONG_USE */
function wishOf(word: string): [string, number | null] {
  const [name = '', text = '', ...more] = word.split('=');
  if (text === 'preset' && more.length === 0) return [name, null];
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value) || more.length > 0) throw fail('WRONG_USE', { word, why: `must be ${name}=NUMBER or ${name}=preset` });
  return [name, value];
}

function author(): string {
  try {
    return userInfo().username;
  } catch {
    return 'unknown';
  }
}

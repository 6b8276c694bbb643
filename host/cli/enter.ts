import type { Command } from 'commander';

import { fail } from '../errors.js';
import { enteredNamed } from '../sense/entered.js';
import type { Entering } from '../serve/record_acts.js';
import type { EnteredLine } from '../serve/told_lines.js';
import { columns } from './output.js';
import type { Output } from './output.js';
import { addRecordOptions, idOf, onRecord } from './record_desk.js';
import type { RecordOptions } from './record_desk.js';


export function addEnter(program: Command, output: Output): void {
  addRecordOptions(program.command('enter'))
    .argument('[words...]', 'name=value, with u=VALUE (standard uncertainty) and at=TIME (ISO 8601, UTC) after it where they are known; nothing to see all')
    .option('--remark <text>', 'how it was read', '')
    .option('--retire <n>', 'take an entry back')
    .option('--restore <n>', 'keep an entry again that was taken back by mistake')
    .description('keep what was read off other instruments: heater volts and amps, fuel, barometer, room, place')
    .action(async (words: string[], options: RecordOptions & { remark: string; retire?: string; restore?: string }) => {
      const entries = entriesOf(words);
      if (options.retire !== undefined) await onRecord(options, 'entered', { retire: idOf(options.retire), remark: options.remark });
      else if (options.restore !== undefined) await onRecord(options, 'entered', { restore: idOf(options.restore), remark: options.remark });
      else if (entries.length > 0) await onRecord(options, 'entered', { entries, remark: options.remark });
      const { entered, simulated } = await onRecord<{ entered: EnteredLine[]; simulated: boolean }>(options, 'entered', null);
      const shown = entries.length === 0 ? entered : entered.filter((line) => entries.some((e) => e.name === line.name));
      for (const { warning } of shown) if (warning !== null) output.note(`${warning}.`);
      const rows = shown.map((l) => [l.name, l.value === null ? '-' : String(l.value), l.u === null ? '' : l.u.toPrecision(2), l.unit, l.age_h === null ? 'never' : `${l.age_h.toFixed(1)} h`, l.says]);
      output.data(shown.map((l) => ({ ...l, simulated })), columns([['name', 'value', 'u', 'unit', 'age', 'for'], ...rows]));
    });
}

/** u= and at= belong to the name before them. @throws WRONG_USE, ENTERED_UNKNOWN */
export function entriesOf(words: readonly string[]): Entering[] {
  const entries: Entering[] = [];
  for (const word of words) {
    const cut = word.indexOf('=');
    const [name, text] = [word.slice(0, Math.max(0, cut)), word.slice(cut + 1)];
    const last = entries.at(-1);
    if ((name === 'u' || name === 'at') && last !== undefined) entries[entries.length - 1] = name === 'u' ? { ...last, u: numberOf(word, text) } : { ...last, utc_us: timeOf(word, text) };
    else entries.push({ name: enteredNamed(cut < 0 ? word : name), value: numberOf(word, text) });
  }
  return entries;
}

function numberOf(word: string, text: string): number {
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value)) throw fail('WRONG_USE', { word, why: 'must be NAME=NUMBER, such as heater_V=12.1 u=0.05' });
  return value;
}

function timeOf(word: string, text: string): number {
  // Without a zone it is UTC, as all times of this program are.
  const ms = Date.parse(/[zZ]|[-+]\d\d:?\d\d$/.test(text) ? text : `${text}Z`);
  if (Number.isNaN(ms)) throw fail('WRONG_USE', { word, why: 'must be a time such as at=2026-05-03T10:20' });
  return ms * 1000;
}

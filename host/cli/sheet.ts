import type { Command } from 'commander';

import { fail } from '../errors.js';
import type { SettingLine } from '../serve/told_lines.js';
import { columns } from './output.js';
import type { Output } from './output.js';
import { addRecordOptions, onRecord } from './record_desk.js';
import type { RecordOptions } from './record_desk.js';


export function addSheet(program: Command, output: Output): void {
  addRecordOptions(program.command('sheet'))
    .argument('[words...]', 'name=value to tell one, name=preset to go back; nothing to see all')
    .option('--remark <text>', 'where the value is from', '')
    .description('list or tell what the data sheets of the rig say: limits and sizes that no calibration shows')
    .action(async (words: string[], options: RecordOptions & { remark: string }) => {
      const values = Object.fromEntries(words.map(wishOf));
      if (words.length > 0) await onRecord(options, 'sheet', { values, remark: options.remark });
      const { sheet, simulated } = await onRecord<{ sheet: SettingLine[]; simulated: boolean }>(options, 'sheet', null);
      const shown = words.length === 0 ? sheet : sheet.filter((line) => line.name in values);
      const rows = shown.map((l) => [l.name, String(l.value), l.unit, l.told ? 'told' : 'preset', l.says, l.told ? '' : l.source]);
      output.data(shown.map((l) => ({ ...l, simulated })), columns([['name', 'value', 'unit', '', 'what', 'preset from'], ...rows]));
    });
}

/** @throws WRONG_USE */
function wishOf(word: string): [string, number | null] {
  const [name = '', text = '', ...more] = word.split('=');
  if (text === 'preset' && more.length === 0) return [name, null];
  const value = Number(text);
  if (text.trim() === '' || !Number.isFinite(value) || more.length > 0) throw fail('WRONG_USE', { word, why: `must be ${name}=NUMBER or ${name}=preset` });
  return [name, value];
}

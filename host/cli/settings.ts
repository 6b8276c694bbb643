import { resolve } from 'node:path';

import type { Command } from 'commander';

import { settings } from '../../protocol/messages.js';
import { fail } from '../errors.js';
import { demandValue, settingNamed, settingNames } from '../link/board_settings.js';
import type { SettingName } from '../link/board_settings.js';
import type { SettingAnswer } from '../link/setting_desk.js';
import { askDaemon, daemonUrl, healthOf } from './daemon_client.js';
import { columns } from './output.js';
import type { Output } from './output.js';
import { DEFAULT_LISTEN } from './values.js';

interface Options {
  listen?: string;
  db?: string;
}

export function addSettings(program: Command, output: Output): void {
  program
    .command('settings')
    .argument('[words...]', 'name=value to change one, a name to see one; nothing to see all')
    .description('list or change what the board of the running daemon is set to')
    .option('--listen <host:port>', `where the daemon serves (default: ${DEFAULT_LISTEN})`)
    .option('--db <file>', 'the record whose daemon is asked')
    .action(async (words: string[], options: Options) => {
      // All of them are looked at before the first is done.
      const wishes = words.length === 0 ? settingNames.map((name) => ({ name, value: null })) : words.map(wishOf);
      const url = daemonUrl(options.listen, options.db === undefined ? null : resolve(options.db));
      const { board, reason, simulated } = await healthOf(url);
      if (board === null) throw fail('BOARD_NOT_LIVE', { reason: reason ?? 'the daemon does not say why' });
      const answers = [];
      for (const { name, value } of wishes) {
        const answer = await askDaemon<SettingAnswer>(url, 'api/settings', { boot_id: board.boot_id, name, ...(value === null ? {} : { value }) });
        const { least, most, preset, says } = settings[name];
        answers.push({ name, value: answer.value, changed: value !== null, least, most, preset, says, board: board.id, simulated });
      }
      output.data(
        answers,
        columns([['setting', 'value', 'from', 'to', 'preset', 'what'], ...answers.map((a) => [a.name, String(a.value), String(a.least), String(a.most), String(a.preset), a.says])]),
      );
    });
}

/** @throws SETTING_UNKNOWN, SETTING_RANGE, WRONG_USE */
function wishOf(word: string): { name: SettingName; value: number | null } {
  const [name = '', text, ...more] = word.split('=');
  const known = settingNamed(name);
  if (text === undefined) return { name: known, value: null };
  if (!/^-?\d{1,9}$/.test(text) || more.length > 0) throw fail('WRONG_USE', { word, why: `must be ${name}=NUMBER, a whole one` });
  const value = Number(text);
  demandValue(known, value);
  return { name: known, value };
}

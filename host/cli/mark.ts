import type { Command } from 'commander';

import { sinceStart_us } from '../clock.js';
import type { MarkAct } from '../serve/mark_acts.js';
import type { Change } from '../store/runs/history.js';
import { markPresets } from '../store/runs/mark_presets.js';
import type { MarkRow, MarkState } from '../store/runs/marks.js';
import { historyText, marksText, time, wordsOf } from './ledger_text.js';
import type { Output } from './output.js';
import { addRecordOptions, idOf, onLedgerOf } from './record_desk.js';
import type { RecordOptions } from './record_desk.js';

interface Times {
  readonly ago?: string;
  readonly at?: string;
}
interface Answer {
  readonly mark: MarkRow;
}

export function addMark(program: Command, output: Output): void {
  const group = addRecordOptions(program.command('mark')).description('mark what happened, now or so long ago; list and correct marks')
    .argument('[text...]', 'such as "bled jacket"').option('--ago <duration>', 'it was so long ago, such as 20s').option('--at <time>', 'when it was, such as 10:20 (UTC)')
    .option('--press <which>', 'words for a press of the button: last, or BOOT/TICK as mark list has it');
  const post = <T = Answer>(options: RecordOptions, act: MarkAct): Promise<T> => onLedgerOf<T>(options, 'marks', act);
  const told = ({ mark }: Answer): void => output.data(dataOf(mark), `${mark.simulated === 1 ? 'SIMULATED ' : ''}${nameOf(mark)} at ${time(mark.t)}: ${mark.text}${mark.boot_id === null ? ' (nothing was recorded then)' : ''}`);

  group.action(async (words: string[], options: RecordOptions & Times & { press?: string }) => {
    // A command takes its time to start: the key was pressed before that.
    const pressed = { ago_s: sinceStart_us() / 1e6 };
    const text = words.join(' ');
    if (options.press !== undefined) told(await post(options, { does: 'name', press: options.press, text }));
    else told(await post(options, { does: 'add', text, source: 'command', ...wordsOf(options, ['ago', 'at']), ...pressed }));
  });
  const sub = (name: string, says: string): Command => group.command(name).description(says);
  const all = (command: Command): RecordOptions & Times => command.optsWithGlobals();

  sub('list', 'all marks, or those of a run').argument('[run]').action(async (run: string | undefined, _words: unknown, command: Command) => {
    const { marks, simulated } = await post<{ marks: MarkRow[]; simulated: boolean }>(all(command), { does: 'list', ...(run === undefined ? {} : { run }) });
    const shown = marks.filter((m) => m.archived === 0);
    output.data(shown.map(dataOf), `${simulated ? 'SIMULATED\n' : ''}${shown.length === 0 ? 'none yet' : marksText(shown)}`);
  });
  sub('edit', 'another text or time; what it was stays in its history').argument('<n>').option('--text <text>').action(async (n: string, words: { text?: string }, command: Command) => {
    told(await post(all(command), { does: 'edit', mark: idOf(n), ...wordsOf(words, ['text']), ...wordsOf(all(command), ['ago', 'at']) }));
  });
  for (const [does, says] of [['archive', 'leave a mark out of lists'], ['unarchive', 'list it again'], ['undo', 'take the last change of it back']] as const) {
    sub(does, says).argument('<n>').action(async (n: string, _words: unknown, command: Command) => told(await post(all(command), { does, mark: idOf(n) })));
  }
  sub('history', 'every change of a mark').argument('<n>').action(async (n: string, _words: unknown, command: Command) => {
    const { history } = await post<{ history: Change<MarkState>[] }>(all(command), { does: 'history', mark: idOf(n) });
    output.data(history, historyText(history));
  });
  sub('presets', 'words for what happens most often').action(() => output.data(markPresets, markPresets.join('\n')));
}

const dataOf = (m: MarkRow): object => ({ ...m, archived: m.archived === 1, simulated: m.simulated === 1 });
const nameOf = (m: MarkRow): string => (m.mark_id === null ? `${m.boot_id ?? ''}/${m.tick ?? ''}` : `mark ${m.mark_id}`);

import type { Command } from 'commander';

import { fail } from '../errors.js';
import type { RunAct, ToldRun } from '../serve/run_acts.js';
import type { Change } from '../store/runs/history.js';
import type { MarkRow } from '../store/runs/marks.js';
import type { RunState } from '../store/runs/runs.js';
import { cut, historyText, marksText, time, wordsOf } from './ledger_text.js';
import { columns } from './output.js';
import type { Output } from './output.js';
import { addRecordOptions, idOf, onLedgerOf } from './record_desk.js';
import type { RecordOptions } from './record_desk.js';

type Words = Omit<RunAct, 'does' | 'run'>;
interface Answer {
  readonly run: ToldRun;
}

export function addRuns(program: Command, output: Output): void {
  const group = addRecordOptions(program.command('runs')).description('list runs, the named spans of the record; label one, forwards or backwards; correct it');
  group.option('--archived', 'also those that were archived');
  group.action(async (options: RecordOptions & { archived?: boolean }) => {
    const { runs, simulated } = await onLedgerOf<{ runs: ToldRun[]; simulated: boolean }>(options, 'runs', null);
    const shown = runs.filter((r) => options.archived === true || r.archived === 0);
    output.data(shown.map(dataOf), listText(shown, simulated));
  });
  const sub = (name: string, says: string): Command => group.command(name).description(says);
  const post = <T = Answer>(command: Command, act: RunAct): Promise<T> => onLedgerOf<T>(command.optsWithGlobals<RecordOptions>(), 'runs', act);
  const build = ['--build <name>', 'which build it is on; none: it is not known (default: the one in use)'] as const;
  const note = ['--note <text>', 'a remark'] as const;

  sub('start', 'a run begins now; the one that goes on ends').argument('[name]', 'default: date and number').option(...build).option(...note).option('--ago <duration>', 'it began so long ago, such as 20s')
    .action(async (name: string | undefined, words: Words, command: Command) => {
      const { run, ended } = await post<Answer & { ended: ToldRun | null }>(command, { does: 'start', name: name ?? null, ...wordsOf(words, ['build', 'note', 'ago']) });
      output.data({ ...dataOf(run), ended: ended?.name ?? null }, `${ended === null ? '' : `${ended.name} has ended after ${minutes(ended.recorded_s)}\n`}run ${run.run_id} "${run.name}" goes on since ${time(run.from_t)}, on ${run.build ?? 'no known build'}`);
    });
  sub('end', 'the run that goes on ends now').option('--ago <duration>', 'it ended so long ago').action(async (words: Words, command: Command) => {
    const { run } = await post(command, { does: 'end', ...wordsOf(words, ['ago']) });
    output.data(dataOf(run), doneText(run));
  });
  sub('keep', 'label what has been: the last minutes, or from one time to another').argument('[duration]', 'such as 15min').argument('[name]', 'default: date and number')
    .option('--from <time>', 'such as 10:20 (UTC)').option('--to <time>', 'default: now').option('--name <name>', 'the same as the word').option(...build).option(...note)
    .action(async (first: string | undefined, second: string | undefined, words: Words, command: Command) => {
      // From one time to another needs no duration: the first word is the name then.
      const named = words.from !== undefined && first !== undefined && second === undefined && !/^\d+(\.\d+)?\s*[a-z]+$/.test(first);
      const [last, name] = named ? [undefined, first] : [first, second];
      if ((last === undefined) === (words.from === undefined)) throw fail('WRONG_USE', { word: 'keep', why: 'needs how long, such as 15min, or --from TIME' });
      const { run } = await post(command, { does: 'keep', ...(last === undefined ? {} : { last }), ...wordsOf(words, ['from', 'to', 'build', 'note']), name: name ?? words.name ?? null });
      output.data(dataOf(run), doneText(run));
    });
  sub('show', 'one run: spans, marks, what is left out').argument('<run>', 'its number or name, or last').action(async (run: string, _words: unknown, command: Command) => {
    const shown = await post<RunState & Answer & { marks: MarkRow[] }>(command, { does: 'show', run });
    output.data({ ...dataOf(shown.run), spans: shown.spans, exclusions: shown.exclusions, marks: shown.marks }, showText(shown.run, shown));
  });
  sub('edit', 'another name, note, build, beginning or end; what it was stays in its history').argument('<run>')
    .option('--name <name>').option(...note).option(...build).option('--from <time>', 'such as 10:20 (UTC), or +2min: two minutes later than now').option('--to <time>', 'such as 10:40, or -90s: so much earlier')
    .action(async (run: string, words: Words, command: Command) => {
      const done = await post(command, { does: 'edit', run, ...wordsOf(words, ['name', 'note', 'build', 'from', 'to']) });
      output.data(dataOf(done.run), doneText(done.run));
    });
  sub('exclude', 'leave a stretch of it out when points are looked for').argument('<run>').requiredOption('--from <time>', 'such as 10:20 (UTC), +2min into it, -90s before its end').requiredOption('--to <time>').requiredOption('--reason <text>', 'why')
    .action(async (run: string, words: Words, command: Command) => {
      const done = await post(command, { does: 'exclude', run, ...wordsOf(words, ['from', 'to', 'reason']) });
      output.data(dataOf(done.run), `${minutes(done.run.excluded_s)} of ${done.run.name} are left out`);
    });
  sub('include', 'take an exclusion back').argument('<run>').argument('<n>', 'its number, as runs show has it').action(async (run: string, n: string, _words: unknown, command: Command) => {
    const done = await post(command, { does: 'include', run, exclusion: idOf(n) });
    output.data(dataOf(done.run), `${minutes(done.run.excluded_s)} of ${done.run.name} are left out`);
  });
  for (const [does, says] of [['archive', 'leave a run out of lists; nothing is deleted'], ['unarchive', 'list it again']] as const) {
    sub(does, says).argument('<run>').action(async (run: string, _words: unknown, command: Command) => {
      const done = await post(command, { does, run });
      output.data(dataOf(done.run), `${done.run.name} is ${does === 'archive' ? 'archived' : 'listed again'}`);
    });
  }
  sub('undo', 'take the last change of a run back').argument('<run>').action(async (run: string, _words: unknown, command: Command) => {
    const done = await post<Answer & { took_back: string }>(command, { does: 'undo', run });
    output.data({ ...dataOf(done.run), took_back: done.took_back }, `took back: ${done.took_back}\n${doneText(done.run)}`);
  });
  sub('history', 'every change of a run').argument('<run>').action(async (run: string, _words: unknown, command: Command) => {
    const { history } = await post<Answer & { history: Change<RunState>[] }>(command, { does: 'history', run });
    output.data(history, historyText(history));
  });
}

const dataOf = (r: ToldRun): object => ({ ...r, archived: r.archived === 1, going_on: r.going_on === 1, verified: r.verified === 1, zeros_enclose: r.zeros_enclose === 1, simulated: r.simulated === 1 });
const minutes = (s: number | null): string => (s === null ? '-' : s < 90 ? `${s.toFixed(0)} s` : `${(s / 60).toFixed(1)} min`);
const state = (r: ToldRun): string => (r.archived === 1 ? 'archived' : r.going_on === 1 ? 'goes on' : r.verified === 1 ? 'verified' : 'unverified');

function listText(all: readonly ToldRun[], simulated: boolean): string {
  if (all.length === 0) return 'no run yet: begin one with runs start, or label what has been with runs keep 15min';
  const rows = all.map((r) => [String(r.run_id), cut(r.name, 20), time(r.from_t).slice(0, 16), minutes(r.recorded_s), cut(r.build ?? '-', 12), state(r)]);
  const lacks = all.filter((r) => r.verified === 0).map((r) => `${r.run_id} lacks ${r.lacks.join(', ')}`);
  return [...(simulated ? ['SIMULATED'] : []), columns([['n', 'name', 'from (UTC)', 'length', 'build', 'state'], ...rows]), ...lacks.map((l) => cut(l, 80))].join('\n');
}

const doneText = (r: ToldRun): string => `${r.simulated === 1 ? 'SIMULATED\n' : ''}run ${r.run_id} "${r.name}": ${time(r.from_t)} to ${time(r.to_t).slice(11)}, ${minutes(r.recorded_s)}\non ${r.build ?? 'no known build'}, ${state(r)}${r.lacks.length === 0 ? '' : `; it lacks\n  ${r.lacks.join('\n  ')}`}`;

function showText(run: ToldRun, { spans, exclusions, marks }: RunState & { readonly marks: readonly MarkRow[] }): string {
  const parts = [doneText(run)];
  if (run.note !== '') parts.push(run.note);
  if (spans.length > 1) parts.push(`over ${spans.length} boots of the board`);
  if (exclusions.length > 0) parts.push(columns([['left out', 'boot', 'ticks', 'why'], ...exclusions.map((e) => [String(e.exclusion), String(e.boot_id), `${e.tick_from} to ${e.tick_to}`, cut(e.reason, 30)])]));
  if (marks.length > 0) parts.push(marksText(marks));
  return parts.join('\n');
}

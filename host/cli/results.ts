import type { Command } from 'commander';

import type { ResultRow } from '../store/records/results.js';
import { columns } from './output.js';
import type { Output } from './output.js';
import { addRecordOptions, collect, onRecord } from './record_desk.js';
import type { RecordOptions } from './record_desk.js';
import { keptText } from './reductions_work.js';
import { keepResults, renewResults } from './results_work.js';
import type { Renewed } from './results_work.js';

export function addResults(program: Command, output: Output): void {
  const group = addRecordOptions(program.command('results'))
    .description('list what was worked out of runs, each value with its uncertainty and what it rests on; keep more, or renew what a corrected calibration changed')
    .option('--all', 'also those that were superseded');
  group.action(async (options: RecordOptions & { all?: boolean }) => {
    const { results, simulated } = await onRecord<{ results: ResultRow[]; simulated: boolean }>(options, 'results', null);
    const shown = options.all === true ? results : results.filter((r) => r.superseded_by === null);
    output.data(shown, `${simulated ? 'SIMULATED\n' : ''}${shown.length === 0 ? 'none was kept yet: smallbrake results keep RUN' : listText(shown)}`);
  });
  const all = (command: Command): RecordOptions => command.optsWithGlobals();
  group
    .command('keep')
    .argument('<runs...>', 'their names or numbers, or last')
    .option('--set <name=value>', 'another limit of the steady gate, as of the command points', collect, [])
    .description('work values, points, curve and heat balances of runs out as the record has them now, and keep them')
    .action(async (words: string[], _options: unknown, command: Command) => {
      const kept = await keepResults(command.optsWithGlobals<RecordOptions & { set: string[] }>(), words);
      output.data(kept, kept.map((k) => `run ${k.run}\n${listText(k.after)}\n${keptText(k.reductions)}`).join('\n'));
    });
  group
    .command('renew')
    .description('work out anew what rests on a calibration that was corrected or taken back; the old values stay')
    .action(async (_options: unknown, command: Command) => {
      const renewed = await renewResults(all(command));
      output.data(renewed, renewedText(renewed));
    });
}

/** Old and new beside each other. */
export function renewedText(renewed: readonly Renewed[]): string {
  if (renewed.length === 0) return 'no result rests on what was changed';
  const rows = renewed.flatMap(({ run, before, after }) =>
    after.flatMap((now) => {
      const was = before.find((b) => b.name === now.name);
      if (was === undefined || (was.value === now.value && was.expanded === now.expanded)) return [];
      return [[run, now.name, said(was), said(now), String(now.result_id)]];
    }),
  );
  return `${renewed.length} run${renewed.length === 1 ? '' : 's'} worked out anew\n${columns([['run', 'what', 'was', 'is', 'result'], ...rows])}`;
}

function listText(results: readonly ResultRow[]): string {
  const state = (r: ResultRow): string => (r.superseded_by !== null ? `superseded by ${r.superseded_by}` : r.stale === 1 ? 'stale: renew it' : r.verified === 1 ? 'verified' : 'unverified');
  return columns([['n', 'run', 'what', 'value +- U95', 'rests on', 'state'], ...results.map((r) => [String(r.result_id), r.run, r.name, said(r), calText(r), state(r)])]);
}

const calText = (r: ResultRow): string => (JSON.parse(r.cal_ids) as number[]).map((c) => `cal ${c}`).join(', ');

function said({ value, expanded, reason }: ResultRow): string {
  if (value === null || expanded === null) return reason ?? 'not measured';
  // Two digits of the interval tell how many the value has.
  const digits = expanded > 0 ? Math.max(0, Math.min(9, 1 - Math.floor(Math.log10(expanded)))) : 6;
  return `${value.toFixed(digits)} +- ${expanded.toFixed(digits)}`;
}

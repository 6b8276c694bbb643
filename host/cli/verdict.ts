import type { Command } from 'commander';

import { fail } from '../errors.js';
import { DEFAULT_MARGIN, defaultPlan } from '../reduce/verdict/compare.js';
import { mainEffects } from '../reduce/verdict/effects.js';
import { orderOf } from '../reduce/verdict/order.js';
import type { Side, Style } from '../reduce/verdict/order.js';
import { verdictReport } from '../reduce/verdict/report.js';
import { expanded } from '../sense/uncertainty/coverage.js';
import { changeWarning, differences } from '../store/ledger/diff.js';
import type { Output } from './output.js';
import { addRecordOptions, collect } from './record_desk.js';
import type { RecordOptions } from './record_desk.js';
import { effectsText, planText, verdictText } from './verdict_text.js';
import { keepVerdict, ledgerBuild, ledgerOf, looksAt, measures, worked } from './verdict_work.js';
import type { LeftRun, Measure, WorkedBuild } from './verdict_work.js';

interface Options extends RecordOptions {
  readonly margin: string;
  readonly measure: string;
  readonly set: string[];
}

const styles: readonly Style[] = ['block', 'random', 'costly'];

export function addVerdict(program: Command, output: Output): void {
  const group = addRecordOptions(program.command('verdict'))
    .argument('[a]', 'a build: name or number')
    .argument('[b]', 'the build that is compared to it')
    .description('whether build B is better, worse, the same, or whether it cannot be told yet and how many more runs it takes; each look is kept')
    .option('--margin <share>', 'within this they count as the same', `${100 * DEFAULT_MARGIN}%`)
    .option('--measure <name>', measures.join(', '), measures[0])
    .option('--set <name=value>', 'another limit of the steady gate, as of the command points', collect, []);
  group.action(async (a: string | undefined, b: string | undefined, options: Options) => {
    if (a === undefined || b === undefined) throw fail('WRONG_USE', { word: 'verdict', why: 'needs two builds, such as verdict A B; see smallbrake builds' });
    await compareBuilds(output, options, a, b);
  });
  group
    .command('plan')
    .argument('<a>')
    .argument('<b>')
    .description('the order in which to run them next, so that a drift of the bench cancels')
    .option('--runs <n>', 'runs a side in all', String(defaultPlan.first_n))
    .option('--style <style>', 'block: a drift cancels (A B B A); random: each pair drawn; costly: as few changes as may be (A B A)', 'block')
    .action((a: string, b: string, _words: unknown, command: Command) => planRuns(output, command.optsWithGlobals<Options & { runs: string; style: string }>(), a, b));
  group
    .command('effects')
    .description('which change of a part moved the measure most, over the whole ledger')
    .action((_words: unknown, command: Command) => {
      const options = command.optsWithGlobals<Options>();
      const left: LeftRun[] = [];
      const all = ledgerOf(options).builds.map((entry) => worked(options, entry, measureOf(options.measure), left));
      const effects = mainEffects(all.map(ledgerBuild));
      const simulated = isSimulated(all);
      output.data({ ...effects, measure: options.measure, left_out: left, simulated }, effectsText(effects, simulated));
    });
}

async function compareBuilds(output: Output, options: Options, wordA: string, wordB: string): Promise<void> {
  const measure = measureOf(options.measure);
  const margin = marginOf(options.margin);
  const ledger = ledgerOf(options);
  const [idA, idB] = [wordA, wordB].map((w) => ledger.find(w).build_id) as [number, number];
  if (idA === idB) throw fail('WRONG_USE', { word: wordB, why: 'is the same build as the first' });
  const left: LeftRun[] = [];
  const all = ledger.builds.map((entry) => worked(options, entry, measure, left));
  const [a, b] = [idA, idB].map((id) => all.find((w) => w.build.build_id === id) ?? archived(id)) as [WorkedBuild, WorkedBuild];
  const others = all.filter((w) => w !== a && w !== b);
  const looks = await looksAt(options, idA, idB, measure);
  const report = verdictReport({ a: a.runs, b: b.runs, ledger: others.map((w) => w.runs), change_warning: changeWarning(differences(a.parts, b.parts)), looks, margin });
  await keepVerdict(options, a, b, measure, report, looks);
  const named = { a: a.build.name, b: b.build.name, measure, simulated: isSimulated(all) };
  const runs = (w: WorkedBuild): unknown => w.runs.map((r) => ({ run_id: r.run_id, name: r.name, result: r.result.value, U95: expanded(r.result).U, conditions: r.conditions, lacks: r.lacks }));
  output.data({ ...named, ...report, runs: { a: runs(a), b: runs(b) }, left_out: left }, verdictText(report, [a.runs, b.runs], left, named));
}

function planRuns(output: Output, options: Options & { runs: string; style: string }, wordA: string, wordB: string): void {
  const ledger = ledgerOf(options);
  const [a, b] = [ledger.find(wordA), ledger.find(wordB)];
  const style = styles.find((s) => s === options.style);
  const n = Number(options.runs);
  if (style === undefined) throw fail('WRONG_USE', { word: `--style ${options.style}`, why: `must be ${styles.join(', ')}` });
  if (!Number.isInteger(n) || n < 1 || n > 50) throw fail('WRONG_USE', { word: `--runs ${options.runs}`, why: 'must be a whole number from 1 to 50' });
  const runsOf = (id: number, side: Side): { readonly at: number; readonly side: Side }[] => (ledger.builds.find((e) => e.build.build_id === id)?.runs ?? []).map((r) => ({ at: r.from_utc_us ?? 0, side }));
  const done = [...runsOf(a.build_id, 'A'), ...runsOf(b.build_id, 'B')].sort((x, y) => x.at - y.at).map((r) => r.side);
  const order = orderOf(done, n, style, Math.random);
  output.data({ a: a.name, b: b.name, done, ...order, style, simulated: a.simulated === 1 }, `${a.simulated === 1 ? 'SIMULATED\n' : ''}${planText(order, done, a.name, b.name)}`);
}

const isSimulated = (all: readonly WorkedBuild[]): boolean => all.some((w) => w.build.simulated === 1 || w.runs.some((r) => r.simulated));

function archived(id: number): never {
  throw fail('WRONG_USE', { word: String(id), why: 'is a build that was archived: builds unarchive takes it back' });
}

function measureOf(word: string): Measure {
  const found = measures.find((m) => m === word);
  if (found === undefined) throw fail('WRONG_USE', { word: `--measure ${word}`, why: `must be ${measures.join(', ')}` });
  return found;
}

/** `5%` or 0.05. @throws WRONG_USE */
function marginOf(word: string): number {
  const [, number, sign] = /^(\d+(?:\.\d+)?)\s*(%?)$/.exec(word) ?? [];
  const share = Number(number) / (sign === '%' ? 100 : 1);
  if (!(share > 0 && share < 1)) throw fail('WRONG_USE', { word: `--margin ${word}`, why: 'must be a share below 1, such as 5% or 0.05' });
  return share;
}

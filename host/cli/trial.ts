import type { Command } from 'commander';

import { trialOf } from '../reduce/trial/trial.js';
import { trialDraft, trialNames as names, trialValueNames as shown } from '../reduce/kept_drafts.js';
import type { Trial } from '../reduce/trial/trial.js';
import { plainValue } from '../reduce/values/plain.js';
import { programVersion } from '../package_root.js';
import { engineIn, jsonIn } from './heat.js';
import { columns } from './output.js';
import type { Output } from './output.js';
import { withU, wrapped } from './points_text.js';
import { onLedgerOf } from './record_desk.js';
import { citedBy, runNumber } from './reductions_work.js';
import { addSpanOptions, spansAsked } from './span_asked.js';
import type { SpanOptions } from './span_asked.js';
import type { KeptTrial } from '../store/runs/trials.js';

interface Options extends SpanOptions {
  readonly geometry?: string;
  readonly keep?: boolean;
}

export function addTrial(program: Command, output: Output): void {
  addSpanOptions(program.command('trial'))
    .argument('[run]', 'name or number of a run, or last; without one, as --from, --to or --last say')
    .description('heat-only trial before the mechanism is fitted: the swing of pressure at the spare input as the displacer is moved by hand, and its share of what the ideal cycle gives')
    .option('--geometry <file>', 'the engine\'s volumes as JSON: for the ideal cycle')
    .option('--keep', 'keep it as the trial of the run, in the place of the one that was kept')
    .action(async (run: string | undefined, options: Options) => {
      const engine = engineIn(options.geometry);
      const trials = spansAsked(options, run).map(({ span, knowledge }) => trialOf(span, knowledge, engine));
      for (const trial of trials) output.data(plainTrial(trial), trialText(trial));
      if (options.keep === true) output.note(await keepTrials(options, run, trials));
    });
}

/** Through the daemon where one runs. @throws WRONG_USE without a run, NOT_KEPT */
async function keepTrials(options: Options, run: string | undefined, trials: readonly Trial[]): Promise<string> {
  const run_id = await runNumber(options, run);
  const settings = options.geometry === undefined ? {} : { geometry: jsonIn(options.geometry) };
  const used = { ...citedBy(trials), settings, version: programVersion() };
  const { trials: kept } = await onLedgerOf<{ trials: readonly KeptTrial[] }>(options, 'trials', { does: 'keep', run_id, used, trials: trials.map(trialDraft) });
  return `kept: ${kept.map((t) => `trial ${t.trial_id}, ${t.strokes} strokes`).join('; ')}`;
}

function plainTrial(trial: Trial): unknown {
  const { boot_id, simulated, strokes, values, warnings } = trial;
  return { boot_id, simulated, tick_from: values.tick_from, tick_to: values.tick_to, strokes, ...Object.fromEntries(names.map((n) => [n, plainValue(trial[n], true)])), ...Object.fromEntries(shown.map((n) => [n, plainValue(values[n], false)])), warnings };
}

/** In 80 columns. */
export function trialText(trial: Trial): string {
  const { simulated, strokes, values, readings, warnings } = trial;
  const row = (says: string, value: Trial['swing_Pa'], unit: string, scale = 1): string[] => [says, ...withU(value, scale), unit];
  const rows = [
    row('swing, peak to peak', trial.swing_Pa, 'kPa', 1e-3), row('strokes', trial.rate_per_min, '1/min'), row('ideal swing', trial.ideal_swing_Pa, 'kPa', 1e-3), row('reached of it', trial.ideal_share, '%', 100),
    row('hot end', values.hot_C, 'C'), row('coolant in', values.coolant_in_C, 'C'), row('coolant out', values.coolant_out_C, 'C'), row('heat into coolant', values.heat_W, 'W'),
  ];
  const reasons = [...new Set([...names.map((n) => trial[n]), ...shown.slice(0, 4).map((n) => values[n])].flatMap((v) => v.reason ?? []))];
  return [...(simulated ? ['SIMULATED'] : []), `${strokes} strokes by hand (+- is half of the 95 % interval)`, columns([['', 'value', '+-', ''], ...rows]), ...plot(readings), ...[...warnings, ...reasons].map((w) => wrapped(`! ${w}`))].join('\n');
}

const WIDTH = 76;
const HEIGHT = 7;

/** The newest readings, one a column. */
function plot(readings: Trial['readings']): string[] {
  const last = readings.slice(-WIDTH);
  const [low, high] = [Math.min(...last.map((r) => r.kPa)), Math.max(...last.map((r) => r.kPa))];
  if (!(high > low)) return [];
  const line = (r: { readonly kPa: number }): number => Math.round(((high - r.kPa) / (high - low)) * (HEIGHT - 1));
  return Array.from({ length: HEIGHT }, (_, i) => `|${last.map((r) => (line(r) === i ? '*' : ' ')).join('')}`.trimEnd());
}

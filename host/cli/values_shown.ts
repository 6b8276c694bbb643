import type { Command } from 'commander';

import { spanValues } from '../reduce/values/span_values.js';
import type { Values } from '../reduce/values/span_values.js';
import { plainValues } from '../reduce/values/plain.js';
import { valueNames } from '../reduce/values/value.js';
import type { Value, ValueName } from '../reduce/values/value.js';
import { budget } from '../sense/uncertainty/budget.js';
import { columns } from './output.js';
import type { Output } from './output.js';
import { withU, wrapped } from './points_text.js';
import { addSpanOptions, spansAsked, utcText } from './span_asked.js';
import type { SpanOptions } from './span_asked.js';

export function addValues(program: Command, output: Output): void {
  addSpanOptions(program.command('values'))
    .argument('[run]', 'name or number of a run, or last; without one, as --from, --to or --last say')
    .description('the values of one part of the record, steady or not: means over whole revolutions, each with its 95 % interval and what it lacks')
    .option('--budget', 'each source of doubt of each value, the largest first')
    .action((run: string | undefined, options: SpanOptions & { budget?: boolean }) => {
      for (const { span, knowledge } of spansAsked(options, run)) {
        const values = spanValues(span, knowledge);
        output.data(plainValues(values, options.budget === true), valuesText(values, options.budget === true));
      }
    });
}

/** In 80 columns. */
export function valuesText(values: Values, withBudget: boolean): string {
  const { simulated, boot_id, from_utc_us, duration_s, revolutions, shaft, discarded, lacks, warnings } = values;
  const when = from_utc_us === null ? `boot ${boot_id}` : utcText(from_utc_us);
  const over = shaft === 'turning' ? `over ${revolutions} whole revolutions` : shaft === 'stands' ? 'over time: the shaft stands' : 'over time: no whole revolutions';
  const left = Object.entries(discarded).filter(([, n]) => n > 0).map(([what, n]) => `${n} ${what.replace('_', ' ')}`);
  const rows = valueNames.map((name) => rowOf(name, values[name]));
  return [
    ...(simulated ? ['SIMULATED'] : []),
    `${when}, ${duration_s.toFixed(1)} s, ${over}`,
    columns([['what', 'value', '+-', 'unit'], ...rows]),
    ...valueNames.flatMap((name) => (values[name].reason === null ? [] : [wrapped(`${name}: ${values[name].reason}`)])),
    ...(left.length === 0 ? [] : [wrapped(`left out or mended: ${left.join(', ')}`)]),
    wrapped(values.verified ? 'verified' : `not verified: lacks ${lacks.join(', ')}`),
    wrapped(`power: ${values.power_is}`),
    ...warnings.map(wrapped),
    ...(withBudget ? valueNames.flatMap((name) => budgetText(name, values[name])) : []),
  ].join('\n');
}

const unitOf = (name: ValueName): string => name.slice(name.lastIndexOf('_') + 1).replace('Lpmin', 'L/min').replace('rpm', 'rev/min');

function rowOf(name: ValueName, value: Value): string[] {
  const [told, U95] = withU(value);
  return [name, told, U95, value.quantity === null ? value.state.replace('_', ' ') : `${unitOf(name)}${value.state === 'unverified' ? ', unverified' : ''}`];
}

function budgetText(name: ValueName, { quantity }: Value): string[] {
  if (quantity === null) return [];
  const lines = budget(quantity).map((l) => [`  ${l.u.toPrecision(2)}`, `${(100 * l.share).toFixed(1)} %`, l.kind === 'random' ? 'random' : 'syst.', l.says]);
  return [`\n${name}: standard uncertainties in ${quantity.unit}, share of the variance`, columns(lines).split('\n').map((line) => line.slice(0, 80)).join('\n')];
}

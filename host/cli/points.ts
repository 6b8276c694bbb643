import type { Command } from 'commander';

import { fail } from '../errors.js';
import { pointRows } from '../reduce/points/point.js';
import type { PointName, PointSettings } from '../reduce/points/point.js';
import type { Span } from '../reduce/span.js';
import { gateRows } from '../reduce/steady/gate.js';
import type { GateName } from '../reduce/steady/gate.js';
import { plainValues } from '../reduce/values/plain.js';
import type { Output } from './output.js';
import { pointsAsked } from './points_asked.js';
import { pointsText } from './points_text.js';
import { collect } from './record_desk.js';
import { keepWorked, keptText } from './reductions_work.js';
import { addSpanOptions, spansAsked, timeOf } from './span_asked.js';
import type { SpanOptions } from './span_asked.js';

interface Options extends SpanOptions {
  readonly set: string[];
  readonly take?: string;
  readonly why?: string;
  readonly keep?: boolean;
}

export function addPoints(program: Command, output: Output): void {
  const names = [...Object.keys(gateRows), ...Object.keys(pointRows)].join(', ');
  addSpanOptions(program.command('points'))
    .argument('[run]', 'name or number of a run, or last; without one, as --from, --to or --last say')
    .description('find the steady points of a part of the record: torque, speed, power and heat, each with its 95 % interval; and say why the rest is none')
    .option('--set <name=value>', `another limit of the steady gate: ${names}`, collect, [])
    .option('--take <from/to>', 'take this stretch as a point, whatever the gate says; needs --why')
    .option('--why <reason>', 'why it is taken')
    .option('--keep', 'keep them as the points of the run, in the place of those that were kept')
    .action(async (run: string | undefined, options: Options) => {
      const overrides = options.take === undefined ? [] : spansAsked(options, run).flatMap(({ span }) => overridesOf(options, span));
      const asked = pointsAsked(options, run, overrides);
      for (const { span, found } of asked) {
        if (!output.json) {
          output.data(null, pointsText(span, found));
          continue;
        }
        for (const p of found.points) output.data({ ...p, values: plainValues(p.values, false) }, '');
        for (const r of found.rejected) output.data({ boot_id: span.boot_id, simulated: span.simulated, rejected: r }, '');
      }
      if (options.keep === true) output.note(keptText(await keepWorked(options, run, ['points'], { asked }, { set: options.set, overrides }), ['points']));
    });
}

/** @throws WRONG_USE */
export function settingsTold(words: readonly string[]): { gate: Partial<Record<GateName, number>> } & Partial<Record<PointName, number>> {
  const gate: Partial<Record<GateName, number>> = {};
  const points: Partial<Record<PointName, number>> = {};
  for (const word of words) {
    const [name = '', text = ''] = word.split('=');
    const value = Number(text);
    if (text === '' || Number.isNaN(value)) throw fail('WRONG_USE', { word: `--set ${word}`, why: 'must be NAME=NUMBER, such as window_s=30' });
    if (name in gateRows) gate[name as GateName] = value;
    else if (name in pointRows) points[name as PointName] = value;
    else throw fail('WRONG_USE', { word: `--set ${word}`, why: `the gate has ${[...Object.keys(gateRows), ...Object.keys(pointRows)].join(', ')}` });
  }
  return { gate, ...points };
}

function overridesOf({ take, why }: Options, span: Span): PointSettings['overrides'] {
  if (take === undefined) return [];
  const [from, to] = take.split('/');
  if (from === undefined || to === undefined || why === undefined) throw fail('WRONG_USE', { word: `--take ${take}`, why: 'must be FROM/TO, two times, with --why REASON' });
  const { from_utc_us } = span;
  if (from_utc_us === null) throw fail('WRONG_USE', { word: `--take ${take}`, why: 'this stretch has no time: no clock map is known of it' });
  const tickOf = (text: string): number => span.tick_from + (timeOf('--take', text) - from_utc_us) / span.us_per_tick;
  return [{ tick_from: tickOf(from), tick_to: tickOf(to), reason: why }];
}

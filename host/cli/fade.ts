import type { Command } from 'commander';

import { fail } from '../errors.js';
import { fadeReadings } from '../reduce/fade/readings.js';
import { fadeReport, fadeSettings } from '../reduce/fade/report.js';
import type { BrakeLaw } from '../reduce/fade/features.js';
import { slopeAlong } from '../reduce/fade/along_curve.js';
import { knownCurve } from './fade_curve.js';
import { fadeText } from './fade_text.js';
import type { Output } from './output.js';
import type { RecordOptions } from './record_desk.js';
import { addSpanOptions, spansAsked } from './span_asked.js';
import type { SpanOptions } from './span_asked.js';

interface Options extends SpanOptions {
  readonly brake: string;
  readonly curve?: string;
}

const laws: readonly BrakeLaw[] = ['eddy', 'rope'];

export function addFade(program: Command, output: Output): void {
  addSpanOptions(program.command('fade'))
    .argument('[run]', 'name or number of a run, or last; without one, as --from, --to or --last say')
    .description('how fast power goes at a held brake, when what began to move, and which fault that looks like')
    .option('--brake <kind>', `how the brake holds: ${laws.join(' (torque grows with speed), ')} (torque stays)`, 'eddy')
    .option('--curve <run>', 'a run whose torque curve tells a fading brake from a fading engine (default: the last one of the same build before it)')
    .action((run: string | undefined, options: Options) => {
      const law = laws.find((l) => l === options.brake);
      if (law === undefined) throw fail('WRONG_USE', { word: `--brake ${options.brake}`, why: `must be ${laws.join(' or ')}` });
      const known = knownCurve(recordOf(options), run, options.curve);
      const curve_slope_at = known === null ? null : slopeAlong(known.curve);
      for (const { span, knowledge } of spansAsked(options, run)) {
        const report = fadeReport([...fadeReadings(span, knowledge)], { ...fadeSettings, law, curve_slope_at });
        const { boot_id, simulated } = span;
        output.data(
          { boot_id, simulated, curve_of_run: known?.run ?? null, why: report.why, stretches: report.stretches.map(({ readings, findings, ...held }) => ({ ...held, readings: readings.length, findings: findings.map(({ found, ...f }) => ({ ...f, cause: found.cause, both: found.both, ranked: found.ranked.filter((r) => r.share >= 0.001), would_tell: found.would_tell })) })) },
          fadeText(span, report, known?.run ?? null),
        );
      }
    });
}

/** Where the record is, without which part of it was asked for. */
const recordOf = ({ listen, db }: Options): RecordOptions => ({ ...(listen === undefined ? {} : { listen }), ...(db === undefined ? {} : { db }) });

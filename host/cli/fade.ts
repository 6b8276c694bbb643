import type { Command } from 'commander';

import { fail } from '../errors.js';
import { fadeReadings } from '../reduce/fade/readings.js';
import { fadeReport, fadeSettings } from '../reduce/fade/report.js';
import type { BrakeLaw } from '../reduce/fade/features.js';
import { fadeText } from './fade_text.js';
import type { Output } from './output.js';
import { addSpanOptions, spansAsked } from './span_asked.js';
import type { SpanOptions } from './span_asked.js';

interface Options extends SpanOptions {
  readonly brake: string;
}

const laws: readonly BrakeLaw[] = ['eddy', 'rope'];

export function addFade(program: Command, output: Output): void {
  addSpanOptions(program.command('fade'))
    .argument('[run]', 'name or number of a run, or last; without one, as --from, --to or --last say')
    .description('how fast power goes at a held brake, when what began to move, and which fault that looks like')
    .option('--brake <kind>', `how the brake holds: ${laws.join(' (torque grows with speed), ')} (torque stays)`, 'eddy')
    .action((run: string | undefined, options: Options) => {
      const law = laws.find((l) => l === options.brake);
      if (law === undefined) throw fail('WRONG_USE', { word: `--brake ${options.brake}`, why: `must be ${laws.join(' or ')}` });
      for (const { span, knowledge } of spansAsked(options, run)) {
        const report = fadeReport([...fadeReadings(span, knowledge)], { ...fadeSettings, law });
        const { boot_id, simulated } = span;
        output.data(
          { boot_id, simulated, why: report.why, stretches: report.stretches.map(({ readings, findings, ...held }) => ({ ...held, readings: readings.length, findings: findings.map(({ found, ...f }) => ({ ...f, cause: found.cause, both: found.both, ranked: found.ranked.filter((r) => r.share >= 0.001), would_tell: found.would_tell })) })) },
          fadeText(span, report),
        );
      }
    });
}

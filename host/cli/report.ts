import type { Command } from 'commander';

import { systemClock } from '../clock.js';
import { programVersion } from '../package_root.js';
import { reportHtml } from '../page/report/report.js';
import { openToRead } from '../store/read.js';
import type { ReadRecord } from '../store/read.js';
import { addCurveOptions, curveOf } from './curve.js';
import type { CurveOptions } from './curve.js';
import { balancesOf, engineIn } from './heat.js';
import type { Output } from './output.js';
import { pointsAsked } from './points_asked.js';
import type { AskedPoints } from './points_asked.js';
import { fileOf } from './record_desk.js';
import { reportFacts } from './report_facts.js';
import type { Reported } from './report_facts.js';

export function addReport(program: Command, output: Output): void {
  addCurveOptions(program.command('report'))
    .description('one page of HTML that prints on one sheet: smallbrake report RUN > report.html; with --json what it says')
    .option('--geometry <file>', 'the engine\'s volumes as JSON, as of the command heat')
    .action((run: string | undefined, options: CurveOptions & { geometry?: string }) => {
      const asked = pointsAsked(options, run);
      const heat = balancesOf(asked, engineIn(options.geometry));
      const record = openToRead(fileOf(options), systemClock);
      try {
        const facts = reportFacts({
          asked,
          curve: curveOf(asked, options),
          heat,
          ...ledgerOf(record, asked, run),
          hash: record.rawHash(asked.map((a) => a.span)),
          version: programVersion(),
          now_us: systemClock.wall_us(),
          settings: options.set,
        });
        output.data(facts, output.json ? '' : reportHtml(facts).trimEnd());
      } finally {
        record.close();
      }
    });
}

/** The run, and the build that it is of; without a run, the build that was in use there. */
function ledgerOf(record: ReadRecord, asked: readonly AskedPoints[], word: string | undefined): Pick<Reported, 'run' | 'build'> {
  const row = word === undefined ? null : record.runs.find(word);
  const run = row === null ? null : { row, state: record.runs.state(row.run_id) };
  const [first] = asked;
  const build = row !== null ? (row.build_id === null ? null : record.builds.get(row.build_id)) : first === undefined ? null : record.builds.at({ boot_id: first.span.boot_id, tick: first.span.tick_from });
  if (build === null) return { run, build: null };
  const before = build.copied_from === null ? null : record.builds.find(build.copied_from);
  return { run, build: { row: build, parts: record.builds.parts(build.build_id), before: before === null ? null : { name: before.name, parts: record.builds.parts(before.build_id) } } };
}

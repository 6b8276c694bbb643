#!/usr/bin/env node
import { Command, CommanderError } from 'commander';

import { fail } from '../errors.js';
import { programVersion } from '../package_root.js';
import { addBuilds } from './builds.js';
import { addCalibrate } from './calibrate.js';
import { addCalibrations } from './calibrations.js';
import { addCheck } from './check.js';
import { addCoast } from './coast.js';
import { addCurve } from './curve.js';
import { addDoctor } from './doctor.js';
import { addEnter } from './enter.js';
import { addFade } from './fade.js';
import { addMark } from './mark.js';
import { addHeat } from './heat.js';
import { createOutput } from './output.js';
import { addPoints } from './points.js';
import { addPorts } from './ports.js';
import { addReplay } from './replay.js';
import { addReport } from './report.js';
import { addResults } from './results.js';
import { addRuns } from './runs.js';
import { addServe } from './serve.js';
import { addSettings } from './settings.js';
import { addSheet } from './sheet.js';
import { addTwin } from './twin.js';
import { addValues } from './values_shown.js';
import { addVerdict } from './verdict.js';
import { addVersion } from './version.js';
import { addZero } from './zero.js';

const write = (stream: NodeJS.WriteStream) => (text: string) => void stream.write(text);
const stdout = write(process.stdout);
const stderr = write(process.stderr);

/** --json counts wherever it stands, also when the words around it are wrong. */
const output = createOutput(process.argv.includes('--json'), stdout, stderr);

// A reader that has had enough (head, a closed pipe) is no error of ours.
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code !== 'EPIPE') throw error;
  process.exit(0);
});

const version = programVersion();

const program = new Command('smallbrake')
  .description('Measuring bench for engines that make a few watts: records what the sensor board says, and serves it.')
  .option('--json', 'print data as JSON, one value a line')
  .exitOverride()
  .configureOutput({ writeOut: stdout, writeErr: () => undefined })
  .showHelpAfterError(false);

addServe(program, output, version);
addReplay(program, output, version);
addDoctor(program, output);
addSettings(program, output);
addCalibrate(program, output);
addZero(program, output);
addCheck(program, output);
addCalibrations(program, output);
addResults(program, output);
addRuns(program, output);
addFade(program, output);
addMark(program, output);
addBuilds(program, output);
addSheet(program, output);
addEnter(program, output);
addPoints(program, output);
addCurve(program, output);
addHeat(program, output);
addReport(program, output);
addValues(program, output);
addCoast(program, output);
addVerdict(program, output);
addPorts(program, output);
addTwin(program, output);
addVersion(program, output, version);
for (const command of allCommands(program)) command.exitOverride().option('--json', 'print data as JSON, one value a line');

try {
  if (process.argv.length <= 2) {
    stderr(program.helpInformation());
    throw fail('WRONG_USE', { word: 'smallbrake', why: 'needs a command' });
  }
  await program.parseAsync(process.argv);
} catch (thrown) {
  if (thrown instanceof CommanderError) {
    // Help and version end this way too.
    process.exitCode = thrown.exitCode === 0 ? 0 : output.failed(asWrongUse(thrown));
  } else {
    process.exitCode = output.failed(thrown);
  }
}

function allCommands(parent: Command): Command[] {
  return parent.commands.flatMap((c) => [c, ...allCommands(c)]);
}

/** The library's message already names the word in quotes: that word, then the rest. */
function asWrongUse(error: CommanderError): Error {
  const said = error.message.replace(/^error: /, '').replace(/\.?\s*$/, '');
  const word = /'([^']+)'/.exec(said)?.[1] ?? 'smallbrake';
  return fail('WRONG_USE', { word, why: `${said}; see smallbrake help` });
}

#!/usr/bin/env node
import { Command, CommanderError } from 'commander';

import { fail } from '../errors.js';
import { programVersion } from '../package_root.js';
import { createOutput } from './output.js';
import type { Output } from './output.js';

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

/**
 * What each command needs is loaded when it is asked for: all of them together take a second, and a script calls many. In the
 * order in which help lists them.
 */
const commands: Readonly<Record<string, () => Promise<(program: Command, output: Output, version: string) => void>>> = {
  serve: async () => {
    await import('../small_heap.js');
    return (await import('./serve.js')).addServe;
  },
  replay: async () => (await import('./replay.js')).addReplay,
  doctor: async () => (await import('./doctor.js')).addDoctor,
  settings: async () => (await import('./settings.js')).addSettings,
  calibrate: async () => (await import('./calibrate.js')).addCalibrate,
  zero: async () => (await import('./zero.js')).addZero,
  check: async () => (await import('./check.js')).addCheck,
  calibrations: async () => (await import('./calibrations.js')).addCalibrations,
  results: async () => (await import('./results.js')).addResults,
  runs: async () => (await import('./runs.js')).addRuns,
  fade: async () => (await import('./fade.js')).addFade,
  mark: async () => (await import('./mark.js')).addMark,
  builds: async () => (await import('./builds.js')).addBuilds,
  steady: async () => (await import('./steady.js')).addSteady,
  watch: async () => (await import('./watch.js')).addWatch,
  sheet: async () => (await import('./sheet.js')).addSheet,
  enter: async () => (await import('./enter.js')).addEnter,
  points: async () => (await import('./points.js')).addPoints,
  curve: async () => (await import('./curve.js')).addCurve,
  heat: async () => (await import('./heat.js')).addHeat,
  trial: async () => (await import('./trial.js')).addTrial,
  report: async () => (await import('./report.js')).addReport,
  values: async () => (await import('./values_shown.js')).addValues,
  coast: async () => (await import('./coast.js')).addCoast,
  verdict: async () => (await import('./verdict.js')).addVerdict,
  ports: async () => (await import('./ports.js')).addPorts,
  twin: async () => (await import('./twin.js')).addTwin,
  version: async () => (await import('./version.js')).addVersion,
};
const first = process.argv.slice(2).find((word) => !word.startsWith('-'));
const asked = first !== undefined && Object.hasOwn(commands, first) ? commands[first] : undefined;
for (const load of asked === undefined ? Object.values(commands) : [asked]) (await load())(program, output, version);
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

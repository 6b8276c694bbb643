import type { Command } from 'commander';

import { fail } from '../errors.js';
import { runGuided } from './calibrate_guided_run.js';
import type { Output } from './output.js';
import { DEFAULT_LISTEN } from './values.js';

/** Where the daemon is that holds the work. */
export interface DaemonOptions {
  readonly listen?: string;
  readonly db?: string;
}

/** What can be answered before it is asked. */
export interface GuidedOptions extends DaemonOptions {
  readonly mass?: string;
  readonly class?: string;
  readonly radius?: string;
  readonly arm?: string;
  readonly latitude?: string;
  readonly height?: string;
  readonly gravity?: string;
  readonly keep?: boolean;
}

export function addDaemonOptions(command: Command): Command {
  return command
    .option('--listen <host:port>', `where the daemon serves (default: ${DEFAULT_LISTEN})`)
    .option('--db <file>', 'the record whose daemon is asked')
    .option('--keep', 'keep the result where nobody is there to answer');
}

/** Beside the options that the points of a file have too. */
export function addGuidedOptions(command: Command): void {
  addDaemonOptions(command)
    .option('--mass <list>', 'guided: masses that will be hung, such as 50g,100g,200g or "100 g F2, 200 g +-0.5 g"')
    .option('--class <class>', 'guided: OIML class of the masses (default: M1)')
    .option('--arm <length>', 'guided: masses hang at the cell, and this long is the arm, such as 60mm');
}

/** What else a person at the bench is led through. */
export function addGuidedActs(calibrate: Command, output: Output): void {
  const add = (act: 'match' | 'flow' | 'wheel', says: string, answer?: { readonly option: string; readonly name: string; readonly says: string }): void => {
    const command = addDaemonOptions(calibrate.command(act)).description(says);
    if (answer !== undefined) command.option(`--${answer.name} <${answer.option}>`, answer.says);
    // The parent has some of these options too, and commander gives it the word first.
    command.action(async (_own: unknown, called: Command) => {
      const options: DaemonOptions & { keep?: boolean } & Record<string, unknown> = called.optsWithGlobals();
      const told = answer === undefined ? undefined : options[answer.name];
      const answers = answer === undefined || typeof told !== 'string' ? {} : { [answer.name]: told };
      process.exitCode = await runGuided({ act, answers, listen: options.listen, db: options.db, keep: options.keep === true }, output);
    });
  };
  add('match', 'both coolant sensors in one bath: how far they stand apart', { option: 'parts', name: 'sensors', says: 'resistance at 25 C and B of both, such as "10k 3950", where they have no calibration yet' });
  add('flow', 'coolant flow by bucket and stopwatch; with a pulse meter, its curve', { option: 'step', name: 'balance', says: 'step of the balance and temperature of the water, such as "1 g, 20 C"' });
  add('wheel', 'where the magnets stand on the wheel, from a smooth spin by hand');
}

/** @throws WRONG_USE */
export async function calibrateGuided(options: GuidedOptions, output: Output): Promise<void> {
  process.exitCode = await runGuided({ act: 'load', answers: answersOf(options), listen: options.listen, db: options.db, keep: options.keep === true }, output);
}

function answersOf({ mass, class: of, radius, arm, latitude, height, gravity }: GuidedOptions): Record<string, string> {
  if (radius !== undefined && arm !== undefined) throw fail('WRONG_USE', { word: '--arm', why: 'masses hang at a radius of the arm (--radius) or at the cell (--arm), not both' });
  if (gravity !== undefined && latitude !== undefined) throw fail('WRONG_USE', { word: '--gravity', why: 'gravity or the place, not both' });
  const length = radius ?? arm;
  const place = latitude === undefined ? undefined : `${latitude} deg, ${(height ?? '0').replace(/\s*m$/, '')} m`;
  const answers = {
    way: radius !== undefined ? 'torque' : arm !== undefined ? 'force' : undefined,
    length: length === undefined ? undefined : inUnit(length, 'mm'),
    gravity: gravity ?? place,
    masses: mass === undefined ? undefined : `${mass}${of === undefined ? '' : `, class ${of}`}`,
  };
  return Object.fromEntries(Object.entries(answers).filter((entry): entry is [string, string] => entry[1] !== undefined));
}

/** Millimetres where no unit is told. */
const inUnit = (text: string, unit: string): string => (/^[\d.,]+$/.test(text.trim()) ? `${text.trim()} ${unit}` : text);

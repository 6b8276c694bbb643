import type { Command } from 'commander';

import { addDaemonOptions } from './calibrate_guided.js';
import type { DaemonOptions } from './calibrate_guided.js';
import { runGuided } from './calibrate_guided_run.js';
import type { Output } from './output.js';

export function addZero(program: Command, output: Output): void {
  addDaemonOptions(program.command('zero'))
    .description('take a zero of the load cell now: nothing on the arm, brake free; waits until it is settled')
    .action(async (options: DaemonOptions & { keep?: boolean }) => {
      process.exitCode = await runGuided({ act: 'zero', answers: {}, listen: options.listen, db: options.db, keep: options.keep === true }, output);
    });
}

import type { Command } from 'commander';

import { addDaemonOptions } from './calibrate_guided.js';
import type { DaemonOptions } from './calibrate_guided.js';
import { runGuided } from './calibrate_guided_run.js';
import type { Output } from './output.js';

export function addCheck(program: Command, output: Output): void {
  addDaemonOptions(program.command('check'))
    .argument('<mass>', 'that will be hung, such as 100g or "100 g F2"')
    .description('hang a known mass and see whether the calibration still holds')
    .action(async (mass: string, options: DaemonOptions & { keep?: boolean }) => {
      process.exitCode = await runGuided({ act: 'check', answers: { mass }, listen: options.listen, db: options.db, keep: options.keep === true }, output);
    });
}

import type { Command } from 'commander';

import { addGuidedActs, addGuidedOptions, calibrateGuided } from './calibrate_guided.js';
import type { GuidedOptions } from './calibrate_guided.js';
import { addPointOptions, calibratePoints } from './calibrate_points.js';
import type { PointOptions } from './calibrate_points.js';
import type { Output } from './output.js';

export function addCalibrate(program: Command, output: Output): void {
  const command = program
    .command('calibrate')
    .description('calibrate the load cell with masses in your hand, step by step; or fit points of a file (--points FILE)');
  addPointOptions(command);
  addGuidedOptions(command);
  addGuidedActs(command, output);
  command.action(async (options: PointOptions & GuidedOptions) => {
    if (options.points === undefined) await calibrateGuided(options, output);
    else calibratePoints({ ...options, points: options.points }, output);
  });
}

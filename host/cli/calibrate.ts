import type { Command } from 'commander';

import { fail } from '../errors.js';
import { addPointOptions, calibratePoints } from './calibrate_points.js';
import type { PointOptions } from './calibrate_points.js';
import type { Output } from './output.js';

export function addCalibrate(program: Command, output: Output): void {
  const command = program
    .command('calibrate')
    .description('fit the load cell to points of a file (--points FILE)');
  addPointOptions(command);
  command.action((options: PointOptions) => {
    if (options.points !== undefined) { calibratePoints({ ...options, points: options.points }, output); return; }
    throw fail('WRONG_USE', { word: 'calibrate', why: 'needs --points FILE' });
  });
}

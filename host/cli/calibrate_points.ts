import { readFileSync } from 'node:fs';
import { basename } from 'node:path';

import type { Command } from 'commander';

import { fail, reasonOf } from '../errors.js';
import { fitLoad } from '../sense/load/fit.js';
import { readPoints } from '../sense/load/points_file.js';
import { loadUnitOf, loadUnits } from '../sense/physics/units.js';
import type { LoadUnit } from '../sense/physics/units.js';
import type { Output } from './output.js';

export interface PointOptions {
  readonly points?: string;
  readonly unit?: string;
  readonly degree?: string;
  readonly latitude?: string;
  readonly height?: string;
  readonly gravity?: string;
  readonly radius?: string;
}

export function addPointOptions(command: Command): void {
  command
    .option('--points <file>', 'CSV with the header load,counts, or load,counts,direction (up, down)')
    .option('--unit <unit>', `unit of the loads: ${loadUnits.join(', ')}; g, kg and lb are masses and need gravity`)
    .option('--degree <n>', '1 (straight line) or 2 (quadratic), whatever the points show')
    .option('--latitude <deg>', 'where the masses hung, for local gravity')
    .option('--height <m>', 'above the sea (default: 0)')
    .option('--gravity <m/s2>', 'local gravity, where it is known')
    .option('--radius <mm>', 'at which the loads pulled: coefficients for torque are given too');
}

export function calibratePoints(options: PointOptions & { readonly points: string }, output: Output): void {
  const unit: LoadUnit | null = options.unit === undefined ? null : loadUnitOf(options.unit);
  const fit = fitLoad(readPoints(textOf(options.points), basename(options.points)), { degree: degreeOf(options.degree) });
  const { degree, coefficients, coefficient_sd, residual_sd, n, dof } = fit;
  output.data({ degree, coefficients, coefficient_sd, residual_sd, n, dof, unit, si: null }, fit.choice.says);
}

function textOf(file: string): string {
  try {
    return readFileSync(file, 'utf8');
  } catch (thrown) {
    throw fail('CANNOT_READ', { file, reason: reasonOf(thrown) }, thrown);
  }
}

function degreeOf(text: string | undefined): 1 | 2 | null {
  if (text === undefined) return null;
  if (text === '1') return 1;
  if (text === '2') return 2;
  throw fail('WRONG_USE', { word: `--degree ${text}`, why: 'must be 1 or 2' });
}

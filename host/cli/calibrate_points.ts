import { readFileSync } from 'node:fs';
import { basename } from 'node:path';

import type { Command } from 'commander';

import { fail, reasonOf } from '../errors.js';
import { fitLoad } from '../sense/load/fit.js';
import type { LoadFit } from '../sense/load/fit.js';
import { inSI } from '../sense/load/in_si.js';
import type { LoadPoint } from '../sense/load/point.js';
import { readPoints } from '../sense/load/points_file.js';
import { loadUnits } from '../sense/physics/units.js';
import { told } from '../sense/uncertainty/budget.js';
import { u } from '../sense/uncertainty/quantity.js';
import { pointsText } from './calibrate_points_text.js';
import { unitTold } from './calibrate_unit.js';
import type { UnitOptions, UnitTold } from './calibrate_unit.js';
import type { Output } from './output.js';

export interface PointOptions extends UnitOptions {
  readonly points?: string;
  readonly degree?: string;
}

export function addPointOptions(command: Command): void {
  command
    .option('--points <file>', 'CSV with the header load,counts or load,counts,direction (up, down); no board is needed')
    .option('--unit <unit>', `unit of the loads in the file: ${loadUnits.join(', ')}; g, kg and lb are masses and need gravity`)
    .option('--degree <n>', '1 (straight line) or 2 (quadratic), whatever the points show')
    .option('--latitude <deg>', 'where the masses hung, for local gravity')
    .option('--height <m>', 'above the sea (default: 0)')
    .option('--gravity <m/s2>', 'local gravity, where it is known')
    .option('--radius <mm>', 'at which the loads pulled, such as 60 or 60+-0.2: coefficients are then over Nm');
}

export function calibratePoints(options: PointOptions & { readonly points: string }, output: Output): void {
  const degree = degreeOf(options.degree);
  const unit = unitTold(options);
  const points = readPoints(textOf(options.points), basename(options.points));
  const fit = fitLoad(points, { degree });
  const result = pointsResult(fit, unit, points);
  output.data(result, pointsText(points, fit, result));
}

/** What is printed with --json. Coefficients are of counts over the load in the file's own unit, `si` over N or Nm. */
export interface PointsResult {
  readonly degree: 1 | 2;
  readonly coefficients: readonly number[];
  readonly coefficient_sd: readonly number[] | null;
  readonly residual_sd: number | null;
  readonly n: number;
  readonly dof: number;
  readonly unit: string | null;
  readonly si: SiResult | null;
  readonly [more: string]: unknown;
}

export interface SiResult {
  readonly unit: string;
  readonly coefficients: readonly number[];
  /** Standard uncertainties, with that of gravity, buoyancy and radius; null: the points show no scatter. */
  readonly u: readonly number[] | null;
  readonly coefficient_sd: readonly number[] | null;
  /** Of one unit of the file's load. */
  readonly per_unit: number;
  readonly u_per_unit: number;
  readonly gravity_m_s2: number | null;
  readonly u_gravity_m_s2: number | null;
  readonly slope: ReturnType<typeof told> | null;
}

function pointsResult(fit: LoadFit, unit: UnitTold, points: readonly LoadPoint[]): PointsResult {
  const { degree, coefficients, coefficient_sd, residual_sd, n, dof, choice, covariance, r_squared, range, mean_slope, hysteresis, repeatability, zero_return, lower_limit, resolution } = fit;
  const { reason, says, F, p, curvature, curvature_of_span, matters_y, n_needed, bound_y, u_left_y } = choice;
  return {
    degree,
    coefficients,
    coefficient_sd,
    residual_sd,
    n,
    dof,
    unit: unit.unit,
    si: siOf(fit, unit),
    choice: { reason, says, F, p, curvature, curvature_of_span, matters_y, n_needed, bound_y, u_left_y },
    covariance,
    r_squared,
    range,
    mean_slope,
    hysteresis,
    repeatability,
    zero_return,
    lower_limit,
    resolution,
    points: points.map(({ load, count, direction }, i) => ({ load, count, direction, residual: fit.residuals[i] ?? null })),
  };
}

function siOf(fit: LoadFit, { in_SI, gravity }: UnitTold): SiResult | null {
  if (in_SI === null) return null;
  const quantities = inSI(fit, in_SI);
  const over = (values: readonly number[]): number[] => values.map((v, k) => v * in_SI.value ** -k);
  const slope = quantities?.[1];
  return {
    unit: in_SI.unit,
    coefficients: over(fit.coefficients),
    u: quantities?.map(u) ?? null,
    coefficient_sd: fit.coefficient_sd === null ? null : over(fit.coefficient_sd),
    per_unit: in_SI.value,
    u_per_unit: u(in_SI),
    gravity_m_s2: gravity?.value_m_s2 ?? null,
    u_gravity_m_s2: gravity?.u_m_s2 ?? null,
    slope: slope === undefined ? null : told(slope),
  };
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

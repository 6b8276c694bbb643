import { chooseDegree } from '../fit/choose.js';
import type { DegreeChoice } from '../fit/choose.js';
import { lowerLimit } from '../fit/lower_limit.js';
import type { LowerLimit } from '../fit/lower_limit.js';
import { fitPolynomial } from '../fit/polynomial.js';
import type { PolynomialFit } from '../fit/polynomial.js';
import { sumOf } from '../fit/sums.js';
import type { LoadPoint } from './point.js';
import { demandPoints, demandSign } from './refuse.js';
import type { PointTerms } from './refuse.js';
import { loopSide, solveLoad } from './solve.js';
import { creepOf, loopOf, repeatabilityOf, zeroReturnOf } from './shown.js';

export interface LoadFitOptions extends Partial<PointTerms> {
  /** null: by evidence. */
  readonly degree?: 1 | 2 | null;
  /** Of the data sheet: largest departure from a straight line, as a share of capacity. */
  readonly nonlinearity_share?: number;
}

/** A difference of counts, in the unit of the load, and as a share of the span of loads. */
export interface Size {
  readonly count: number;
  readonly load: number;
  readonly share: number;
}

/** counts = c0 + c1 x + c2 x^2 over the load, in the load's own unit. */
export interface LoadFit {
  readonly degree: 1 | 2;
  /** Why that degree, with its evidence and its sentence: of the points without their loop, where both directions are told. */
  readonly choice: DegreeChoice;
  readonly coefficients: readonly number[];
  /** From the scatter of the points alone; null without a degree of freedom, as are covariance and residual_sd. */
  readonly coefficient_sd: readonly number[] | null;
  readonly covariance: readonly (readonly number[])[] | null;
  readonly residual_sd: number | null;
  /** Counts measured less fitted, in the order of the points. */
  readonly residuals: readonly number[];
  readonly n: number;
  readonly dof: number;
  readonly r_squared: number | null;
  /** 1: counts rise with the load. */
  readonly sign: 1 | -1;
  /** Least and greatest load that was hung. */
  readonly range: readonly [number, number];
  /** Counts per unit of load over the range. */
  readonly mean_slope: number;
  /** Down less up: greatest and mean; null where no load was reached both ways. */
  readonly hysteresis: { readonly max: Size; readonly mean: Size; readonly at_load: number; readonly pairs: number } | null;
  /** Standard deviation of equal loads hung again; null: none was. */
  readonly repeatability: (Size & { readonly dof: number }) | null;
  /** Last zero less first. */
  readonly zero_return: Size | null;
  readonly creep: (Size & { readonly over_s: number; readonly at_load: number }) | null;
  /** As ASTM E74 computes it, in the unit of the load. */
  readonly lower_limit: LowerLimit;
  /**
   * In the unit of the load: one count; what the converter's noise leaves of the mean of a point, null where that is not
   * told; and which of them is the step that a load can be told by, 0 where the points show none.
   */
  readonly resolution: { readonly one_count: number; readonly noise_of_mean: number | null; readonly load: number };
  readonly polynomial: PolynomialFit;
}

/** @throws LOAD_UNFIT, FIT_IMPOSSIBLE */
export function fitLoad(points: readonly LoadPoint[], options: LoadFitOptions = {}): LoadFit {
  const { degree: told = null, purpose = 'points', capacity = null, sign = null, nonlinearity_share } = options;
  demandPoints(points, { purpose, capacity, sign });
  const x = points.map((p) => p.load);
  const y = points.map((p) => p.count);
  const range = [Math.min(...x), Math.max(...x)] as const;
  const span = range[1] - range[0];
  const line = fitPolynomial(x, y, 1);
  const nonlinearity_y = nonlinearity_share === undefined || capacity === null ? undefined : nonlinearity_share * capacity * Math.abs(line.coefficients[1] ?? 0);
  const noise_sd = noiseOf(points) ?? undefined;
  const choice = chooseDegree(x, withoutLoop(points, range), { degree: told ?? undefined, nonlinearity_y, noise_sd });
  const fit = choice.degree === 1 ? line : fitPolynomial(x, y, 2);
  const { mean_slope } = lowerLimit(x, fit, 0);
  demandSign(mean_slope, sign);

  const size = (count: number): Size => ({ count, load: count / mean_slope, share: count / mean_slope / span });
  const loop = loopOf(points.map((p, i) => ({ ...p, residual: fit.residuals[i] ?? 0 })));
  const repeated = repeatabilityOf(points);
  const zero_return = zeroReturnOf(points);
  const creep = creepOf(points);
  const resolution = resolutionOf(points, 1 / Math.abs(mean_slope));
  return {
    degree: choice.degree,
    choice,
    coefficients: fit.coefficients,
    coefficient_sd: fit.coefficient_sd,
    covariance: fit.covariance,
    residual_sd: fit.residual_sd,
    residuals: fit.residuals,
    n: fit.n,
    dof: fit.dof,
    r_squared: fit.r_squared,
    sign: mean_slope < 0 ? -1 : 1,
    range,
    mean_slope,
    hysteresis: loop === null ? null : { max: size(loop.max_count), mean: size(loop.mean_count), at_load: loop.at_load, pairs: loop.at.length },
    repeatability: repeated === null ? null : { ...size(repeated.sd_count * Math.sign(mean_slope)), count: repeated.sd_count, dof: repeated.dof },
    zero_return: zero_return === null ? null : size(zero_return),
    creep: creep === null ? null : { ...size(creep.count), over_s: creep.over_s, at_load: creep.load },
    lower_limit: lowerLimit(x, fit, resolution.load),
    resolution,
    polynomial: fit,
  };
}

/** The loop is no scatter: with it taken off, a bend shows that it would hide. */
function withoutLoop(points: readonly LoadPoint[], range: readonly [number, number]): number[] {
  const bends = new Set(points.map((p) => p.load)).size > 2 && points.length > 3;
  const loop = bends ? solveLoad(points, 2, range).loop : null;
  return points.map((p) => p.count - (loop === null ? 0 : loop.half_count * loopSide(p, range)));
}

/** Of the mean of a point, in counts; null: not told. */
function noiseOf(points: readonly LoadPoint[]): number | null {
  const squares = points.flatMap((p) => (p.u_count === null || p.u_count === undefined ? [] : [p.u_count ** 2]));
  return squares.length === 0 ? null : Math.sqrt(sumOf(squares) / squares.length);
}

function resolutionOf(points: readonly LoadPoint[], one_count: number): LoadFit['resolution'] {
  const noise = noiseOf(points);
  const noise_of_mean = noise === null ? null : noise * one_count;
  return { one_count, noise_of_mean, load: noise_of_mean ?? (points.every((p) => Number.isInteger(p.count)) ? one_count : 0) };
}

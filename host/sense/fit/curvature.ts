import { fitPolynomial, fittedAt, type PolynomialFit } from './polynomial.js';
import { studentQuantile } from './student.js';

/**
 * The curvature of a calibration: the largest departure of a parabola from the straight line
 * that lies best along it over the span of the loads, b2 span^2 / 8, in units of y.
 */
export interface Curvature {
  /** null where fewer than three different loads leave it unknown. Its sign is that of b2. */
  readonly y: number | null;
  readonly u_y: number | null;
  readonly dof: number;
}

/** What the data sheet says, and what the points say, in one estimate; null where neither says anything. */
export interface PossibleCurvature {
  readonly y: number;
  readonly u_y: number;
  readonly dof: number;
}

/** Over the span of its loads. @param sd of one point, as its quadratic or something better knows it */
export function curvatureOf(x: readonly number[], quadratic: PolynomialFit, sd: number | null, dof: number): Curvature {
  const span = Math.max(...x) - Math.min(...x);
  const { scale, coefficients, unscaled } = quadratic.centred;
  const to_y = (span / scale) ** 2 / 8;
  const y = (coefficients[2] ?? 0) * to_y;
  return { y, u_y: sd === null ? null : sd * Math.sqrt(unscaled[2]?.[2] ?? 0) * to_y, dof };
}

/**
 * Points and data sheet weighed by their variances. @param limit_y half-width of the data
 * sheet's non-linearity, in units of y
 */
export function possibleCurvature({ y, u_y, dof }: Curvature, limit_y?: number): PossibleCurvature | null {
  const sheet_u = limit_y === undefined ? null : limit_y / Math.sqrt(3);
  if (y === null || u_y === null) return sheet_u === null ? null : { y: 0, u_y: sheet_u, dof: Infinity };
  if (sheet_u === null) return { y, u_y, dof };
  const points = sheet_u ** 2 + u_y ** 2;
  if (points === 0) return { y, u_y: 0, dof };
  const share = sheet_u ** 2 / points;
  // The sheet is known for sure, the points as well as their few readings know their scatter.
  return { y: share * y, u_y: Math.sqrt(share) * u_y, dof: share === 0 ? Infinity : dof / share ** 2 };
}

/** What lies within 95 %, as the half-width of a limit. */
export function curvatureBound_y({ y, u_y, dof }: PossibleCurvature): number {
  return Math.abs(y) + studentQuantile(0.975, dof) * u_y;
}

/**
 * Standard uncertainty that a straight line through these loads leaves to a reading anywhere
 * in their span: root mean square of what it misses, for the curvature that may be there.
 */
export function u_straight_y(x: readonly number[], weights: readonly number[] | undefined, { y, u_y }: PossibleCurvature): number {
  return rmsShape(x, weights) * Math.hypot(y, u_y);
}

/** Of a parabola with a curvature of 1, against the least-squares line through its points at these loads. */
function rmsShape(x: readonly number[], weights: readonly number[] | undefined): number {
  const low = Math.min(...x);
  const half = (Math.max(...x) - low) / 2;
  const parabola = (v: number): number => 2 * ((v - low) / half - 1) ** 2;
  const line = fitPolynomial(x, x.map(parabola), 1, { weights });
  const grid = Array.from({ length: 200 }, (_, i) => low + (half * (i + 0.5)) / 100);
  return Math.sqrt(grid.reduce((sum, v) => sum + (parabola(v) - fittedAt(line, v)) ** 2, 0) / grid.length);
}

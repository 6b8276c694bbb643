import type { Matrix as MatrixOf } from 'ml-matrix';

import { fail } from '../../errors.js';
import { matrices } from './matrix.js';
import { meanOf, sumOf } from './sums.js';

export type Degree = 1 | 2 | 3 | 4;

export interface FitOptions {
  /** One for each point, proportional to 1 / variance; only their ratios matter. */
  readonly weights?: readonly number[] | undefined;
  /** false: the curve goes through 0, 0. */
  readonly intercept?: boolean | undefined;
}

/** The same curve over z = (x - centre) / scale, where its digits are safe. */
interface CentredCurve {
  readonly centre: number;
  readonly scale: number;
  readonly coefficients: readonly number[];
  /** (Z' W Z)^-1 */
  readonly unscaled: readonly (readonly number[])[];
}

export interface PolynomialFit {
  readonly degree: Degree;
  /** y = sum coefficients[i] x^i; without an intercept the first is 0. */
  readonly coefficients: readonly number[];
  /** (X' W X)^-1: times a variance of unit weight it is the covariance. A row and a column for each coefficient. */
  readonly unscaled: readonly (readonly number[])[];
  /** From the scatter of the points; null with no degree of freedom left to see it. So are the sds. */
  readonly covariance: readonly (readonly number[])[] | null;
  readonly coefficient_sd: readonly number[] | null;
  /** Of unit weight: sqrt(sum w r^2 / dof). */
  readonly residual_sd: number | null;
  /** Measured less fitted, in the order of the points. */
  readonly residuals: readonly number[];
  readonly n: number;
  readonly dof: number;
  /** 1 - rss / total; the total is about the mean, or about 0 without an intercept. null when all y are equal. */
  readonly r_squared: number | null;
  readonly centred: CentredCurve;
}

/** Columns that depend on each other to so many digits give no coefficients. */
const RANK = 1e-10;

/**
 * Least squares by QR (Householder) over a centred and scaled x, refined once.
 * @throws FIT_IMPOSSIBLE for too few different x, and for what is no number
 */
export function fitPolynomial(x: readonly number[], y: readonly number[], degree: Degree, options: FitOptions = {}): PolynomialFit {
  const { weights, intercept = true } = options;
  const n = x.length;
  const impossible = (why: string): Error => fail('FIT_IMPOSSIBLE', { degree, why });
  if (y.length !== n || (weights !== undefined && weights.length !== n)) throw impossible('each point needs a load, a reading and a weight');
  if (![...x, ...y].every(Number.isFinite)) throw impossible('a load or a reading is no finite number');
  if (weights?.every((w) => w > 0 && w < Infinity) === false) throw impossible('a weight is not above 0');
  const different = new Set(intercept ? x : x.filter((v) => v !== 0)).size;
  const wanted = degree + (intercept ? 1 : 0);
  if (different < wanted) throw impossible(`it needs ${wanted} different loads${intercept ? '' : ' besides 0'}, there are ${different}`);

  const { centre, scale } = intercept ? span(x) : { centre: 0, scale: powerOfTwo(Math.max(...x.map(Math.abs))) };
  const first = intercept ? 0 : 1;
  const columns = Array.from({ length: wanted }, (_, j) => j + first);
  const z = x.map((v) => (v - centre) / scale);
  const root = weights?.map(Math.sqrt);
  const { Matrix, QrDecomposition } = matrices();
  const design = new Matrix(z.map((v, i) => columns.map((j) => v ** j * (root?.[i] ?? 1))));
  const qr = new QrDecomposition(design);
  const R = qr.upperTriangularMatrix;
  const diagonal = R.diagonal().map(Math.abs);
  if (Math.min(...diagonal) < RANK * Math.max(...diagonal)) throw impossible('its loads lie too close together');

  const c = Array.from({ length: degree + 1 }, () => 0);
  const residualsNow = (): number[] => y.map((v, i) => v - horner(c, z[i] ?? 0));
  for (let round = 0; round < 2; round++) {
    const rest = qr.solve(Matrix.columnVector(residualsNow().map((r, i) => r * (root?.[i] ?? 1))));
    for (const [k, j] of columns.entries()) c[j] = (c[j] ?? 0) + rest.get(k, 0);
  }

  const residuals = residualsNow();
  const w = (i: number): number => weights?.[i] ?? 1;
  const rss = sumOf(residuals.map((r, i) => w(i) * r * r));
  const dof = n - wanted;
  const middle = intercept ? weightedMean(y, weights) : 0;
  const total = sumOf(y.map((v, i) => w(i) * (v - middle) ** 2));

  const unscaled_z = inflate(inverseOfGram(R), columns, degree + 1);
  const back = backToX(degree + 1, centre, scale);
  const unscaled = product(product(back, unscaled_z), transposed(back));
  const residual_sd = dof > 0 ? Math.sqrt(rss / dof) : null;
  const covariance = residual_sd === null ? null : unscaled.map((row) => row.map((v) => v * residual_sd ** 2));
  return {
    degree,
    coefficients: back.map((row) => sumOf(row.map((v, j) => v * (c[j] ?? 0)))),
    unscaled,
    covariance,
    coefficient_sd: covariance?.map((row, i) => Math.sqrt(row[i] ?? 0)) ?? null,
    residual_sd,
    residuals,
    n,
    dof,
    r_squared: total > 0 ? 1 - rss / total : null,
    centred: { centre, scale, coefficients: c, unscaled: unscaled_z },
  };
}

/** The fitted curve at x, by its centred form. */
export function fittedAt({ centred: { centre, scale, coefficients } }: PolynomialFit, x: number): number {
  return horner(coefficients, (x - centre) / scale);
}

/** Its slope at x. */
export function fittedSlopeAt({ centred: { centre, scale, coefficients } }: PolynomialFit, x: number): number {
  const slopes = coefficients.slice(1).map((c, i) => (i + 1) * c);
  return horner(slopes, (x - centre) / scale) / scale;
}

/** Standard uncertainty of the curve at x that comes from the scatter of unit weight `sd`, by default its own; null when that is not known. */
export function u_fittedAt(fit: PolynomialFit, x: number, sd: number | null = fit.residual_sd): number | null {
  if (sd === null) return null;
  const { centre, scale, unscaled } = fit.centred;
  const powers = unscaled.map((_, i) => ((x - centre) / scale) ** i);
  const sum = sumOf(unscaled.flatMap((row, i) => row.map((v, j) => (powers[i] ?? 0) * v * (powers[j] ?? 0))));
  return sd * Math.sqrt(Math.max(0, sum));
}

function horner(c: readonly number[], x: number): number {
  return c.reduceRight((above, c_i) => above * x + c_i, 0);
}

/** A power of two, and a centre with few digits: x - centre and its division lose nothing, so z is as exact as x. */
function span(x: readonly number[]): { centre: number; scale: number } {
  const low = Math.min(...x);
  const high = Math.max(...x);
  const scale = powerOfTwo((high - low) / 2);
  const step = scale / 64;
  return { centre: Math.round((low + (high - low) / 2) / step) * step, scale };
}
function powerOfTwo(size: number): number {
  return 2 ** Math.ceil(Math.log2(size));
}

function weightedMean(y: readonly number[], weights: readonly number[] | undefined): number {
  if (weights === undefined) return meanOf(y);
  const total = sumOf(weights);
  const mean = sumOf(y.map((v, i) => v * (weights[i] ?? 0))) / total;
  return mean + sumOf(y.map((v, i) => (v - mean) * (weights[i] ?? 0))) / total;
}

/** (R' R)^-1 of an upper triangle, by its inverse. */
function inverseOfGram(R: MatrixOf): number[][] {
  const size = R.rows;
  const inverse = Array.from({ length: size }, () => Array.from({ length: size }, () => 0));
  for (let j = 0; j < size; j++) {
    for (let i = j; i >= 0; i--) {
      const above = sumOf(Array.from({ length: j - i }, (_, k) => R.get(i, i + 1 + k) * (inverse[i + 1 + k]?.[j] ?? 0)));
      const row = inverse[i];
      if (row !== undefined) row[j] = ((i === j ? 1 : 0) - above) / R.get(i, i);
    }
  }
  return product(inverse, transposed(inverse));
}

/** Rows and columns of 0 where a coefficient is not fitted. */
function inflate(m: readonly (readonly number[])[], columns: readonly number[], size: number): number[][] {
  const full = Array.from({ length: size }, () => Array.from({ length: size }, () => 0));
  for (const [k, i] of columns.entries()) {
    for (const [l, j] of columns.entries()) {
      const row = full[i];
      if (row !== undefined) row[j] = m[k]?.[l] ?? 0;
    }
  }
  return full;
}

/** Row i, column j: what ((x - centre) / scale)^j holds of x^i. */
export function backToX(size: number, centre: number, scale: number): number[][] {
  return Array.from({ length: size }, (_, i) => Array.from({ length: size }, (_, j) => (j < i ? 0 : (choose(j, i) * (-centre) ** (j - i)) / scale ** j)));
}
function choose(n: number, k: number): number {
  return k === 0 ? 1 : (choose(n - 1, k - 1) * n) / k;
}

function product(a: readonly (readonly number[])[], b: readonly (readonly number[])[]): number[][] {
  return a.map((row) => (b[0] ?? []).map((_, j) => sumOf(row.map((v, k) => v * (b[k]?.[j] ?? 0)))));
}
function transposed(m: readonly (readonly number[])[]): number[][] {
  return (m[0] ?? []).map((_, j) => m.map((row) => row[j] ?? 0));
}

import { matrices } from '../fit/matrix.js';
import { sumOf } from '../fit/sums.js';
import type { LoadPoint } from './point.js';

/** Least squares of counts over load with what else the points show, as linear maps, so that errors of loads can be carried through. */
export interface Solved {
  /** c0, c1 and, for degree 2, c2. */
  readonly coefficients: readonly number[];
  /** weights[k][i]: what one count more at point i does to coefficient k. */
  readonly weights: readonly (readonly number[])[];
  /** (X' X)^-1 of the coefficients. */
  readonly unscaled: readonly (readonly number[])[];
  readonly residuals: readonly number[];
  readonly rss: number;
  readonly dof: number;
  /** Residual maker: how far counts moved at the points would show in rss. @param moved by one source */
  seen(moved: readonly number[]): number;
  /** Half of down less up in mid-range, and its share of the scatter's variance; null where no load was reached both ways. */
  readonly loop: { readonly half_count: number; readonly unscaled: number } | null;
}

/** 0 at both ends of the range, 1 half-way: the branches of a loop meet where it turns. */
export function loopShape(x: number, [low, high]: readonly [number, number]): number {
  const s = (x - low) / (high - low);
  return s <= 0 || s >= 1 ? 0 : 4 * s * (1 - s);
}

/** How a point lies in the loop: -1 below to 1 above the middle of the branches; 0 where no direction is told. */
export function loopSide({ direction, load }: LoadPoint, range: readonly [number, number]): number {
  return direction === null ? 0 : (direction === 'up' ? -1 : 1) * loopShape(load, range);
}

/** A loop needs as many points to spare. */
const LOOP_DOF_LEAST = 2;

export function solveLoad(points: readonly LoadPoint[], degree: 1 | 2, range: readonly [number, number]): Solved {
  const scale = Math.max(Math.abs(range[0]), Math.abs(range[1]));
  const z = points.map((p) => p.load / scale);
  const side = points.map((p) => loopSide(p, range));
  const withLoop = side.some((s) => s < 0) && side.some((s) => s > 0) && points.length - degree - 2 >= LOOP_DOF_LEAST;
  const { Matrix, QrDecomposition } = matrices();
  const X = new Matrix(z.map((v, i) => [...Array.from({ length: degree + 1 }, (_, k) => v ** k), ...(withLoop ? [side[i] ?? 0] : [])]));
  const qr = new QrDecomposition(X);
  const maps = qr.solve(Matrix.eye(points.length)).to2DArray();
  const y = points.map((p) => p.count);
  const fitted = (b: readonly number[]): number[] => X.to2DArray().map((row) => sumOf(row.map((v, k) => v * (b[k] ?? 0))));
  const apply = (v: readonly number[]): number[] => maps.map((row) => sumOf(row.map((w, i) => w * (v[i] ?? 0))));
  const rest = (v: readonly number[]): number[] => {
    const f = fitted(apply(v));
    return v.map((one, i) => one - (f[i] ?? 0));
  };
  const b = apply(y);
  // Once more over what is left: the first pass loses digits where counts are large beside their scatter.
  const more = apply(y.map((v, i) => v - (fitted(b)[i] ?? 0)));
  const solution = b.map((v, k) => v + (more[k] ?? 0));
  const residuals = y.map((v, i) => v - (fitted(solution)[i] ?? 0));
  const back = (k: number): number => scale ** -k;
  const weights = maps.slice(0, degree + 1).map((row, k) => row.map((w) => w * back(k)));
  return {
    coefficients: solution.slice(0, degree + 1).map((v, k) => v * back(k)),
    weights,
    unscaled: weights.map((a) => weights.map((c) => sumOf(a.map((w, i) => w * (c[i] ?? 0))))),
    residuals,
    rss: sumOf(residuals.map((r) => r * r)),
    dof: points.length - X.columns,
    seen: (moved) => sumOf(rest(moved).map((r) => r * r)),
    loop: withLoop ? { half_count: solution[degree + 1] ?? 0, unscaled: sumOf((maps[degree + 1] ?? []).map((w) => w * w)) } : null,
  };
}

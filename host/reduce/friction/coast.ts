import { Matrix, pseudoInverse, SingularValueDecomposition } from 'ml-matrix';

import { fail } from '../../errors.js';

/** Deceleration of a free wheel: rate = a + b w + c w^2 (dry, viscous, windage), in rad/s^2; what is left out is 0. */
export interface Slowing {
  readonly terms: 1 | 2 | 3;
  /** a, b, c. */
  readonly coefficients: readonly [number, number, number];
  /** Of a, b, c; 3 x 3. */
  readonly covariance: readonly (readonly number[])[];
  /** Of the times of the turns about the fit. */
  readonly residual_sd_s: number;
  readonly dof: number;
  readonly aicc: number;
  readonly range_rad_s: readonly [number, number];
  readonly turns: number;
}

const TURN = 2 * Math.PI;
const LEAST_turns = 8;
/** The last turn takes that much longer than the first, at least: less is a wheel that is driven, or an unsteady one. */
const SLOWS = 1.05;
const ROUNDS = 40;
/** Four more steps a turn change the time of a turn by less than 1e-7 of it at the slowest that is fitted. */
const STEPS = 4;

/**
 * Fits the times at which whole turns ended to the wheel's own equation of motion, so that no speed has to be taken
 * from differences. Of one, two and three terms the one is kept that explains them best for their number (Akaike, small
 * sample).
 *
 * @param t_s times at which the wheel came round, rising, from one coast-down
 * @param turns whole turns at each of them, rising; preset: one more each time
 * @throws COAST_UNFIT
 */
export function fitCoast(t_s: readonly number[], turns: readonly number[] = t_s.map((_, i) => i)): { readonly best: Slowing; readonly tried: readonly Slowing[] } {
  if (t_s.length < LEAST_turns + 1) throw fail('COAST_UNFIT', { why: `${Math.max(0, t_s.length - 1)} whole turns are in it, ${LEAST_turns} are needed`, todo: 'spin the wheel faster before letting go' });
  const [first, last] = endPeriods(t_s, turns);
  if (!(last > first * SLOWS)) throw fail('COAST_UNFIT', { why: 'the wheel did not slow down', todo: 'take the brake and the heat off, and let it run out' });
  const tried: Slowing[] = [];
  let from: readonly number[] | null = null;
  for (const terms of [1, 2, 3] as const) {
    const fit = fitTerms(t_s, turns, terms, from);
    if (fit === null) continue;
    tried.push(fit.slowing);
    from = fit.p;
  }
  if (tried.length === 0) throw fail('COAST_UNFIT', { why: 'no law of slowing goes through its turns', todo: 'see to the pickup, and let the wheel run out undisturbed' });
  return { best: tried.reduce((a, b) => (b.aicc < a.aicc - 2 ? b : a)), tried };
}

/**
 * Gauss and Newton on [time of the first turn, speed then, a, b, c]; null where it finds no way.
 *
 * @param from what fewer terms came to: from the ends of the turns alone a third term is not always found
 */
function fitTerms(t_s: readonly number[], turns: readonly number[], terms: 1 | 2 | 3, from: readonly number[] | null): { readonly slowing: Slowing; readonly p: readonly number[] } | null {
  const n = t_s.length;
  const all = (turns[n - 1] ?? 0) - (turns[0] ?? 0);
  const [w0, w1] = endPeriods(t_s, turns).map((s) => TURN / s) as [number, number];
  const atEnds = [t_s[0] ?? 0, w0, (w0 - w1) / ((t_s[n - 1] ?? 1) - (t_s[0] ?? 0))];
  let p = [...(from ?? atEnds), 0, 0].slice(0, 2 + terms);
  let r = residuals(t_s, turns, p);
  if (r === null) {
    // Too much friction for all turns: start from what just reaches the last.
    p[2] = (w0 * w0 - w1 * w1) / (2 * TURN * all);
    r = residuals(t_s, turns, p);
    if (r === null) return null;
  }
  let J = jacobian(t_s, turns, p, r);
  for (let round = 0; round < ROUNDS; round++) {
    const step = solved(J, r);
    let share = 1;
    let next: number[] | null = null;
    let nextR: number[] | null = null;
    for (; share > 1e-4; share /= 2) {
      next = p.map((v, i) => v + share * (step[i] ?? 0));
      nextR = residuals(t_s, turns, next);
      if (nextR !== null && squares(nextR) <= squares(r) * (1 + 1e-12)) break;
      nextR = null;
    }
    if (next === null || nextR === null) break;
    const gain = 1 - squares(nextR) / squares(r);
    p = next;
    r = nextR;
    J = jacobian(t_s, turns, p, r);
    if (gain < 1e-10) break;
  }
  const k = p.length;
  const dof = n - k;
  const s2 = squares(r) / dof;
  const inverse = inverseOfSquare(J);
  const full = Array.from({ length: 3 }, (_, i) => Array.from({ length: 3 }, (_2, j) => (i < terms && j < terms ? s2 * inverse.get(2 + i, 2 + j) : 0)));
  const speeds = [p[1] ?? w0, w1];
  const slowing: Slowing = {
    terms,
    coefficients: [p[2] ?? 0, p[3] ?? 0, p[4] ?? 0],
    covariance: full,
    residual_sd_s: Math.sqrt(s2),
    dof,
    // Below a tick's rounding nothing more is explained.
    aicc: n * Math.log(Math.max(squares(r) / n, 1e-16)) + 2 * (k + 1) + (2 * (k + 1) * (k + 2)) / Math.max(1, n - k - 2),
    range_rad_s: [Math.min(...speeds), Math.max(...speeds)],
    turns: all,
  };
  return { slowing, p };
}

/** Columns of size 1: a second and a rad/s^2 per (rad/s)^2 are a million times apart, and the smallest would be taken for nothing. */
function evened(J: Matrix): { readonly J: Matrix; readonly sizes: readonly number[] } {
  const sizes = Array.from({ length: J.columns }, (_, k) => Math.sqrt(squares(J.getColumn(k))) || 1);
  return { J: J.clone().divRowVector([...sizes]), sizes };
}

/** Least squares of J x = r. */
function solved(J: Matrix, r: readonly number[]): number[] {
  const even = evened(J);
  return new SingularValueDecomposition(even.J, { autoTranspose: true }).solve(Matrix.columnVector([...r])).to1DArray().map((v, k) => v / (even.sizes[k] ?? 1));
}

/** (J' J)^-1 */
function inverseOfSquare(J: Matrix): Matrix {
  const even = evened(J);
  return pseudoInverse(even.J.transpose().mmul(even.J)).divRowVector([...even.sizes]).divColumnVector([...even.sizes]);
}

/** Time of a turn at either end. */
function endPeriods(t_s: readonly number[], turns: readonly number[]): [first: number, last: number] {
  const n = t_s.length;
  const period = (i: number): number => ((t_s[i] ?? 0) - (t_s[i - 1] ?? 0)) / ((turns[i] ?? 0) - (turns[i - 1] ?? 0));
  return [period(1), period(n - 1)];
}

const squares = (r: readonly number[]): number => r.reduce((s, v) => s + v * v, 0);

/** Measured less foretold; null where the wheel would stand before its last turn. */
function residuals(t_s: readonly number[], turns: readonly number[], p: readonly number[]): number[] | null {
  const [t0 = 0, w0 = 0, a = 0, b = 0, c = 0] = p;
  let w2 = w0 * w0;
  let t = t0;
  const out = [(t_s[0] ?? 0) - t];
  // Over the angle, in w^2: d(w^2)/d(angle) = -2 (a + b w + c w^2), dt/d(angle) = 1 / w. Runge and Kutta, fourth order.
  const h = TURN / STEPS;
  const rate = (x: number): number => {
    const w = Math.sqrt(x);
    return -2 * (a + b * w + c * x);
  };
  for (let i = 1; i < t_s.length; i++) {
    for (let s = STEPS * ((turns[i] ?? 0) - (turns[i - 1] ?? 0)); s > 0; s--) {
      const k1 = rate(w2);
      const x2 = w2 + (h / 2) * k1;
      const k2 = rate(x2);
      const x3 = w2 + (h / 2) * k2;
      const k3 = rate(x3);
      const x4 = w2 + h * k3;
      const k4 = rate(x4);
      const end = w2 + (h / 6) * (k1 + 2 * k2 + 2 * k3 + k4);
      if (!(x2 > 0 && x3 > 0 && x4 > 0 && end > 0)) return null;
      t += (h / 6) * (1 / Math.sqrt(w2) + 2 / Math.sqrt(x2) + 2 / Math.sqrt(x3) + 1 / Math.sqrt(x4));
      w2 = end;
    }
    out.push((t_s[i] ?? 0) - t);
  }
  return out;
}

function jacobian(t_s: readonly number[], turns: readonly number[], p: readonly number[], r: readonly number[]): Matrix {
  const scales = [1e-4, (p[1] ?? 1) * 1e-6, Math.max(Math.abs(p[2] ?? 0), 1e-3) * 1e-5, 1e-6, 1e-8];
  const columns = p.map((v, i) => {
    const h = scales[i] ?? 1e-6;
    const moved = residuals(t_s, turns, p.map((x, k) => (k === i ? v + h : x))) ?? residuals(t_s, turns, p.map((x, k) => (k === i ? v - h : x)))?.map((x, k) => 2 * (r[k] ?? 0) - x) ?? r;
    // Foretold = measured - residual.
    return moved.map((x, k) => ((r[k] ?? 0) - x) / h);
  });
  return new Matrix(columns).transpose();
}

/** Deceleration at a speed, and its standard uncertainty, in rad/s^2. */
export function slowingAt({ coefficients, covariance }: Slowing, w: number): { readonly rad_s2: number; readonly u_rad_s2: number } {
  const powers = [1, w, w * w];
  const rad_s2 = coefficients.reduce((s, v, k) => s + v * (powers[k] ?? 0), 0);
  const v = powers.reduce((s, x, i) => s + powers.reduce((q, y, j) => q + x * y * (covariance[i]?.[j] ?? 0), 0), 0);
  return { rad_s2, u_rad_s2: Math.sqrt(Math.max(0, v)) };
}

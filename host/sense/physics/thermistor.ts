import { fail } from '../../errors.js';
import { fitPolynomial } from '../fit/polynomial.js';
import { positive, within } from './within.js';

/**
 * NTC thermistors. Every way to know one ends in the same form, so that one line of SQL
 * serves them all: 1/T = a0 + a1 L + a2 L^2 + a3 L^3, L = ln(R / ohm), T in K.
 */
export interface ThermistorCurve {
  readonly a: readonly [a0: number, a1: number, a2: number, a3: number];
}

export interface ThermistorPoint {
  readonly t_C: number;
  readonly R_ohm: number;
}

const ZERO_C_K = 273.15;
/** Where a thermistor can be at all. */
const LEAST_C = -100;
const MOST_C = 400;
const SEE_TO = 'see to the thermistor, its plug and the points of its curve';

/** Temperature in C. @throws OUT_OF_RANGE where the curve gives none, or one outside -100 to 400 C */
export function thermistor_C({ a }: ThermistorCurve, R_ohm: number): number {
  positive('The resistance of a thermistor', R_ohm, 'ohm', SEE_TO);
  const t_C = 1 / cubic(a, Math.log(R_ohm)) - ZERO_C_K;
  return within(`The temperature of a thermistor at ${R_ohm} ohm`, t_C, 'C', LEAST_C, MOST_C, SEE_TO);
}

/** dT/dR in K/ohm, below 0. @throws OUT_OF_RANGE as thermistor_C */
export function thermistorSlope_K_per_ohm(curve: ThermistorCurve, R_ohm: number): number {
  const T_K = thermistor_C(curve, R_ohm) + ZERO_C_K;
  return (-T_K * T_K * cubicSlope(curve.a, Math.log(R_ohm))) / R_ohm;
}

/**
 * Resistance in ohm at t_C: Newton within a bracket, on the rising piece of the cubic that holds near_ohm.
 * @throws OUT_OF_RANGE where that piece does not reach t_C
 */
export function thermistor_ohm({ a }: ThermistorCurve, t_C: number, near_ohm = 10_000): number {
  within('The temperature of a thermistor', t_C, 'C', LEAST_C, MOST_C, SEE_TO);
  const wanted = 1 / (t_C + ZERO_C_K);
  let [low, high] = risingPiece(a, Math.log(near_ohm));
  if (!(cubic(a, low) <= wanted && wanted <= cubic(a, high))) {
    const reached = [high, low].map((L) => (1 / cubic(a, L) - ZERO_C_K).toFixed(1));
    throw fail('OUT_OF_RANGE', { what: "A temperature asked of a thermistor's curve", value: t_C, unit: 'C', limit: `from ${reached.join(' to ')}`, todo: 'it reaches no further' });
  }
  let L = (low + high) / 2;
  for (let i = 0; i < 100; i++) {
    const off = cubic(a, L) - wanted;
    if (off > 0) high = L;
    else low = L;
    const newton = L - off / cubicSlope(a, L);
    const next = newton > low && newton < high ? newton : (low + high) / 2;
    if (Math.abs(next - L) <= 1e-15 * Math.abs(L)) break;
    L = next;
  }
  return Math.exp(L);
}

/** 1/T = 1/T0 + ln(R/R0)/B. @param R0_ohm at t0_C; @throws OUT_OF_RANGE */
export function curveOfBeta(beta_K: number, R0_ohm: number, t0_C = 25): ThermistorCurve {
  positive('The beta of a thermistor', beta_K, 'K', 'take it from the data sheet, mostly 3000 to 4500');
  positive('The resistance of a thermistor', R0_ohm, 'ohm', SEE_TO);
  within('The temperature of a thermistor', t0_C, 'C', LEAST_C, MOST_C, SEE_TO);
  return { a: [1 / (t0_C + ZERO_C_K) - Math.log(R0_ohm) / beta_K, 1 / beta_K, 0, 0] };
}

/** The beta that leads through two points: what data sheets call B25/50 or B25/85. @throws CURVE_UNFIT, OUT_OF_RANGE */
export function betaThrough(first: ThermistorPoint, second: ThermistorPoint): number {
  checked([first, second]);
  return Math.log(first.R_ohm / second.R_ohm) / (1 / (first.t_C + ZERO_C_K) - 1 / (second.t_C + ZERO_C_K));
}

/** Steinhart and Hart's 1/T = A + B ln R + C (ln R)^3 exactly through three points. @throws CURVE_UNFIT, OUT_OF_RANGE */
export function curveThroughThree(points: readonly [ThermistorPoint, ThermistorPoint, ThermistorPoint]): ThermistorCurve {
  const [p1, p2, p3] = checked(points) as [ThermistorPoint, ThermistorPoint, ThermistorPoint];
  const [L1, L2, L3] = [Math.log(p1.R_ohm), Math.log(p2.R_ohm), Math.log(p3.R_ohm)];
  const [Y1, Y2, Y3] = [1 / (p1.t_C + ZERO_C_K), 1 / (p2.t_C + ZERO_C_K), 1 / (p3.t_C + ZERO_C_K)];
  const g2 = (Y2 - Y1) / (L2 - L1);
  const g3 = (Y3 - Y1) / (L3 - L1);
  const C = (g3 - g2) / (L3 - L2) / (L1 + L2 + L3);
  const B = g2 - C * (L1 * L1 + L1 * L2 + L2 * L2);
  const curve: ThermistorCurve = { a: [Y1 - (B + C * L1 * L1) * L1, B, 0, C] };
  return rising(curve, L1, L3);
}

export interface TableCurve extends ThermistorCurve {
  /** Rows that were used, and the span that they cover: beyond it the curve is a guess. */
  readonly rows: number;
  readonly from_C: number;
  readonly to_C: number;
  /** Table less curve in K: the largest, and its standard deviation (rows - 4 degrees of freedom; null with none). */
  readonly residual_max_K: number;
  readonly residual_sd_K: number | null;
}

/**
 * The cubic that fits the rows of an R-T table from from_C to to_C best, in K.
 * @throws CURVE_UNFIT with fewer than four rows in the span, and where the table goes up and down; OUT_OF_RANGE
 */
export function curveOfTable(table: readonly ThermistorPoint[], from_C = -Infinity, to_C = Infinity): TableCurve {
  const points = checked(table.filter(({ t_C }) => t_C >= from_C && t_C <= to_C), 4);
  const L = points.map(({ R_ohm }) => Math.log(R_ohm));
  const T_K = points.map(({ t_C }) => t_C + ZERO_C_K);
  // Weights that turn an error of 1/T into one of T.
  const { coefficients, dof } = fitPolynomial(L, T_K.map((T) => 1 / T), 3, { weights: T_K.map((T) => T ** 4) });
  const [a0 = 0, a1 = 0, a2 = 0, a3 = 0] = coefficients;
  const curve = rising({ a: [a0, a1, a2, a3] }, L[0] ?? 0, L.at(-1) ?? 0);
  const off_K = points.map(({ t_C, R_ohm }) => t_C - thermistor_C(curve, R_ohm));
  return {
    ...curve,
    rows: points.length,
    from_C: points[0]?.t_C ?? Number.NaN,
    to_C: points.at(-1)?.t_C ?? Number.NaN,
    residual_max_K: Math.max(...off_K.map(Math.abs)),
    residual_sd_K: dof > 0 ? Math.sqrt(off_K.reduce((sum, d) => sum + d * d, 0) / dof) : null,
  };
}

/** In the order of their temperatures, which must be the reverse of that of their resistances. */
function checked(points: readonly ThermistorPoint[], least = points.length): ThermistorPoint[] {
  const unfit = (why: string, todo: string): Error => fail('CURVE_UNFIT', { what: 'a thermistor', why, todo });
  if (points.length < least) throw unfit(`${points.length} of them, ${least} are needed`, 'give more points, or a wider span');
  for (const { t_C, R_ohm } of points) {
    positive('The resistance of a thermistor', R_ohm, 'ohm', SEE_TO);
    within('The temperature of a thermistor', t_C, 'C', LEAST_C, MOST_C, SEE_TO);
  }
  const sorted = points.toSorted((p, q) => p.t_C - q.t_C);
  for (const [i, q] of sorted.entries()) {
    const p = sorted[i - 1];
    if (p === undefined) continue;
    if (p.t_C === q.t_C) throw unfit(`two at ${q.t_C} C`, 'leave one of them out');
    if (p.R_ohm <= q.R_ohm) throw unfit(`${p.R_ohm} ohm at ${p.t_C} C and ${q.R_ohm} ohm at ${q.t_C} C`, 'the resistance must fall as it gets warmer, correct or leave out a point');
  }
  return sorted;
}

/** A curve that turns within its own points would give two temperatures for one resistance. */
function rising(curve: ThermistorCurve, L_cold: number, L_hot: number): ThermistorCurve {
  const [low, high] = risingPiece(curve.a, (L_cold + L_hot) / 2);
  if (low <= L_hot && L_cold <= high) return curve;
  throw fail('CURVE_UNFIT', { what: 'a thermistor', why: 'the curve through them turns back between them', todo: 'measure them again, further apart' });
}

/** From 0.1 ohm to 1 Gohm, cut where the slope of the cubic changes its sign. Empty if it falls at L. */
function risingPiece([, a1, a2, a3]: ThermistorCurve['a'], L: number): [low: number, high: number] {
  let low = Math.log(0.1);
  let high = Math.log(1e9);
  for (const turn of zerosOfQuadratic(3 * a3, 2 * a2, a1)) {
    if (turn <= L) low = Math.max(low, turn);
    else high = Math.min(high, turn);
  }
  return a1 + 2 * a2 * L + 3 * a3 * L * L > 0 ? [low, high] : [L, L];
}

function zerosOfQuadratic(c2: number, c1: number, c0: number): number[] {
  if (c2 === 0) return c1 === 0 ? [] : [-c0 / c1];
  const d = c1 * c1 - 4 * c2 * c0;
  if (d < 0) return [];
  const q = -(c1 + Math.sign(c1 || 1) * Math.sqrt(d)) / 2;
  return q === 0 ? [0] : [q / c2, c0 / q];
}

function cubic([a0, a1, a2, a3]: ThermistorCurve['a'], L: number): number {
  return a0 + L * (a1 + L * (a2 + L * a3));
}
function cubicSlope([, a1, a2, a3]: ThermistorCurve['a'], L: number): number {
  return a1 + L * (2 * a2 + L * 3 * a3);
}

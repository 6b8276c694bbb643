import { coefficientsOf } from '../calibration/model.js';
import type { ErrorTerm, FlowModel } from '../calibration/model.js';
import { stored } from '../calibration/model.js';
import { fail } from '../../errors.js';
import { fitPolynomial } from '../fit/polynomial.js';
import type { PolynomialFit } from '../fit/polynomial.js';
import { pOfF } from '../fit/student.js';
import { meanOf, sumOf } from '../fit/sums.js';
import { REFERENCE_AIR_kg_m3, REFERENCE_WEIGHT_kg_m3 } from '../physics/air.js';
import { waterState, WATER_LIMITS } from '../physics/water.js';
import { positive } from '../physics/within.js';
import { combine, exact, known, quantity } from '../uncertainty/quantity.js';
import type { Quantity } from '../uncertainty/quantity.js';
import { correlated } from '../uncertainty/correlated.js';
import { systematic } from './ids.js';
import { sdOf } from './noise.js';

/** Coolant caught in a bucket, against a watch. */
export interface BucketRun {
  readonly grams: number;
  readonly seconds: number;
  /** Pulses of the meter over that time; null without a meter. */
  readonly pulses: number | null;
  readonly t_C: number;
}

export interface BucketMeans {
  /** Of the balance, as a share of what it shows: the same in all runs. */
  readonly u_scale_share: number;
  /** Of one weighing: resolution, drops. */
  readonly u_grams: number;
  /** Of start and stop together by hand: about 0.2 s (common practice, no source). */
  readonly u_seconds: number;
  /** kg/m3 of a mix; null: water by IAPWS-IF97. */
  readonly density_kg_m3: Quantity | null;
  /** `cal: flow 2026-05-03 bucket`: this set of runs. */
  readonly id: string;
}
export const BUCKET_HAND_s = 0.2;
const SCATTER_p = 0.05;
const CURVE_p = 0.05;
/** Rates that differ by less than this show a factor, not a line. */
const SAME_RATE = 0.1;

interface Seen {
  readonly flow_Lpmin: number;
  /** Of this run alone, as far as balance and watch explain it. */
  readonly u_Lpmin: number;
  readonly f_Hz: number;
}

function seen(run: BucketRun, means: BucketMeans): Seen {
  positive('The water in the bucket', run.grams, 'g', 'weigh it again');
  positive('The time of the bucket', run.seconds, 's', 'time it again');
  const density = means.density_kg_m3?.value ?? waterState(run.t_C).density_kg_m3;
  // A balance is set with steel, and air carries more of the water: there is 0.1 % more of it than it shows.
  const kg = ((run.grams / 1000) * (1 - REFERENCE_AIR_kg_m3 / REFERENCE_WEIGHT_kg_m3)) / (1 - REFERENCE_AIR_kg_m3 / density);
  const flow_Lpmin = ((kg / density) * 1000 * 60) / run.seconds;
  return { flow_Lpmin, u_Lpmin: flow_Lpmin * Math.hypot(means.u_grams / run.grams, means.u_seconds / run.seconds), f_Hz: (run.pulses ?? 0) / run.seconds };
}

/** Balance and density err alike in all runs: a share of every coefficient. */
function common(c: Quantity, means: BucketMeans): Quantity {
  const rho = means.density_kg_m3;
  const density = rho === null ? known(1, '', WATER_LIMITS.density / Math.sqrt(3), systematic('density of water (IAPWS-IF97)', 'density of water')) : combine(1, '', [[rho, 1 / rho.value]]);
  return combine(c.value, c.unit, [
    [c, 1],
    [known(0, '', means.u_scale_share, systematic(`${means.id}: balance`, 'the balance of the bucket', 'weigh a known mass on it')), c.value],
    [density, -c.value],
  ]);
}

/**
 * Flow by bucket and watch alone: mean of the repeats with n - 1 degrees of freedom; of one run, what balance and watch
 * explain. What the flow itself varies from one repeat to the next is kept as an error of every later reading.
 * @throws READINGS_UNFIT, OUT_OF_RANGE
 */
export function bucketModel(runs: readonly BucketRun[], means: BucketMeans): FlowModel {
  if (runs.length === 0) throw fail('READINGS_UNFIT', { why: 'no bucket was filled' });
  const all = runs.map((run) => seen(run, means));
  const flows = all.map((s) => s.flow_Lpmin);
  const n = flows.length;
  const by_hand = Math.sqrt(meanOf(all.map((s) => s.u_Lpmin ** 2)));
  const sd = sdOf(flows);
  const source = systematic(`${means.id}: repeats`, 'scatter of the bucket runs', 'fill more buckets, or larger ones');
  const mean = n === 1
    ? known(meanOf(flows), 'L/min', by_hand, source)
    : quantity(meanOf(flows), 'L/min', [{ source: { ...source, shape: 'student', dof: n - 1 }, c_u: sd / Math.sqrt(n) }]);
  const own = Math.sqrt(Math.max(0, sd * sd - by_hand * by_hand));
  return { kind: 'fixed', f_range_Hz: null, ...coefficientsOf([common(mean, means)]), errors: own === 0 ? [] : [varies(own, n - 1, means.id)] };
}

function varies(u: number, dof: number, id: string): ErrorTerm {
  return { source: stored({ ...systematic(`${id}: flow varies`, 'the flow differs from one time to the next', 'measure it with a pulse meter'), kind: 'random', shape: 'student', dof }), u, per: 'reading' };
}

/**
 * Curve of a pulse meter from bucket runs: c0 + c1 f over different rates, with c2 f^2 where the runs ask for it (F test,
 * 5 %), c1 f alone where all rates are nearly one. Runs weigh by balance and watch, which also give the scatter unless
 * the residuals are larger than chance allows; then the residuals do.
 * @throws READINGS_UNFIT for no run or no pulses, FIT_IMPOSSIBLE, OUT_OF_RANGE
 */
export function pulseModel(runs: readonly BucketRun[], means: BucketMeans): FlowModel {
  if (runs.length === 0) throw fail('READINGS_UNFIT', { why: 'no bucket was filled' });
  if (runs.some(({ pulses }) => pulses === null || pulses <= 0)) throw fail('READINGS_UNFIT', { why: 'a bucket was filled without pulses: below its least flow the meter stands still' });
  const all = runs.map((run) => seen(run, means));
  const f = all.map((s) => s.f_Hz);
  const q = all.map((s) => s.flow_Lpmin);
  const weights = all.map((s) => 1 / s.u_Lpmin ** 2);
  const range = [Math.min(...f), Math.max(...f)] as const;
  if (range[1] < range[0] * (1 + SAME_RATE)) {
    return { kind: 'pulses', f_range_Hz: [range[0] * (1 - SAME_RATE), range[1] * (1 + SAME_RATE)], ...coefficientsOf(factor(f, q, weights, means)), errors: [] };
  }
  const line = fitPolynomial(f, q, 1, { weights });
  const bent = line.dof >= 2 && new Set(f).size > 3 ? fitPolynomial(f, q, 2, { weights }) : null;
  const fit = bent !== null && asks(line, bent) ? bent : line;
  return { kind: 'pulses', f_range_Hz: range, ...coefficientsOf(coefficientsOfFit(fit, means)), errors: [] };
}

function rss(fit: PolynomialFit): number {
  return fit.residual_sd === null ? 0 : fit.residual_sd ** 2 * fit.dof;
}

/** Against what balance and watch explain (a variance of 1), or the scatter where that is larger. */
function asks(line: PolynomialFit, bent: PolynomialFit): boolean {
  const gain = rss(line) - rss(bent);
  const scatter = scatterOf(bent);
  return pOfF(Math.max(0, gain) / scatter.variance, 1, scatter.dof) < CURVE_p;
}

function scatterOf(fit: { readonly residual_sd: number | null; readonly dof: number }): { readonly variance: number; readonly dof: number } {
  const own = (fit.residual_sd ?? 0) ** 2;
  if (fit.dof > 0 && own > 1 && pOfF(own, fit.dof, Infinity) < SCATTER_p) return { variance: own, dof: fit.dof };
  return { variance: 1, dof: Infinity };
}

function coefficientsOfFit(fit: PolynomialFit, means: BucketMeans): Quantity[] {
  const { variance, dof } = scatterOf(fit);
  const units = ['L/min', 'L/min/Hz', 'L/min/Hz2'];
  const source = { ...systematic(`${means.id}: runs`, 'scatter of the bucket runs', 'fill more buckets, or larger ones'), shape: dof === Infinity ? ('normal' as const) : ('student' as const), dof };
  return correlated(fit.coefficients.map((value, k) => ({ value, unit: units[k] ?? '' })), fit.unscaled.map((row) => row.map((v) => v * variance)), source).map((c) => common(c, means));
}

function factor(f: readonly number[], q: readonly number[], w: readonly number[], means: BucketMeans): Quantity[] {
  const weight = sumOf(w.map((v, i) => v * (f[i] ?? 0) ** 2));
  const c1 = sumOf(w.map((v, i) => v * (f[i] ?? 0) * (q[i] ?? 0))) / weight;
  const dof = f.length - 1;
  const left = sumOf(w.map((v, i) => v * ((q[i] ?? 0) - c1 * (f[i] ?? 0)) ** 2));
  const scatter = scatterOf({ residual_sd: dof > 0 ? Math.sqrt(left / dof) : null, dof });
  const source = systematic(`${means.id}: runs`, 'scatter of the bucket runs', 'fill more buckets, or larger ones');
  const value = quantity(c1, 'L/min/Hz', [{ source: { ...source, shape: scatter.dof === Infinity ? 'normal' : 'student', dof: scatter.dof }, c_u: Math.sqrt(scatter.variance / weight) }]);
  return [exact(0, 'L/min'), common(value, means)];
}

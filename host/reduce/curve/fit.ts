import { fail } from '../../errors.js';
import { pOfF } from '../../sense/fit/student.js';
import { backToX, fitPolynomial } from '../../sense/fit/polynomial.js';
import type { Degree, PolynomialFit } from '../../sense/fit/polynomial.js';
import { combine, quantity, u_random } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';

/** One steady point: torque with all its sources, at a shaft speed that is good enough to be taken as exact beside it. */
export interface CurvePoint {
  readonly speed_rad_s: number;
  readonly torque_Nm: Quantity;
}

/** Torque over speed as a polynomial in speed. */
export interface CurveModel {
  readonly degree: Degree;
  /** Of w^0, w^1 ..., correlated through what the points share. */
  readonly coefficients: readonly Quantity[];
  /** Sum of squared residuals over squared random uncertainties. */
  readonly chi2: number;
  readonly dof: number;
  /** Akaike's criterion, for small samples where only these points show their scatter: less is better; only its differences mean something. */
  readonly aicc: number;
  /** Share of belief among the models that were tried on the same points; they add to 1. */
  readonly weight: number;
}

export interface Curve {
  readonly models: readonly CurveModel[];
  /** How much wider the points scatter about the most flexible model than their random uncertainties say; at least 1. */
  readonly scatter_factor: number;
  readonly range_rad_s: readonly [number, number];
}

/** Sources of what the engine wanders from point to point are one estimate. */
export const WANDER_ID = 'curve: wander';

const DEGREES: readonly Degree[] = [1, 2, 3, 4];
/** Least points beyond the number of coefficients: with none over, no scatter can be seen. */
const OVER = 2;

/**
 * Fits the torque curve with lines of degree 1 to 4, each as far as the points go, and weighs them by how well each explains
 * the points for its number of coefficients (Akaike's criterion, in its small-sample form unless the points know how far the engine wanders: K. Burnham and D. Anderson, Model
 * Selection and Multimodel Inference, 2002, 2.4 and 4.2). Weighted by the points' random uncertainty. Every source of a point, systematic ones too, goes through to the
 * coefficients, since they are sums over the points.
 *
 * @throws TOO_FEW_POINTS
 */
export function fitCurve(points: readonly CurvePoint[]): Curve {
  const least = (DEGREES[0] ?? 1) + 1 + OVER;
  const speeds = differentSpeeds(points);
  if (speeds < least) throw fail('TOO_FEW_POINTS', { points: speeds, least });
  const w = points.map((p) => p.speed_rad_s);
  const T = points.map((p) => p.torque_Nm.value);
  const floor = 1e-6 * Math.max(...T.map(Math.abs));
  const sd = points.map((p) => Math.max(u_random(p.torque_Nm), floor));
  const weights = sd.map((s) => 1 / (s * s));
  // Points that repeat a speed show their scatter, so a curve may go through the mean of each speed; but between two that are near to each other it would swing.
  const apart = differentSpeeds(points, APART);
  const tried = DEGREES.filter((degree) => points.length >= degree + 1 + OVER && (speeds >= degree + 2 || apart >= degree + 1)).map((degree) => {
    const fit = fitPolynomial(w, T, degree, { weights });
    const chi2 = fit.residuals.reduce((s, r, i) => s + (r / (sd[i] ?? 1)) ** 2, 0);
    return { degree, chi2, dof: fit.dof, centred: fit.centred };
  });
  const best = tried.at(-1) ?? { chi2: 1, dof: 1 };
  const wander_dof = wanderDof(points);
  const scatter_factor = scatterFactor(best.chi2, best.dof, wander_dof);
  // The small-sample form is for a scatter that the same few points have to show.
  const sized = wander_dof !== null;
  const scored = tried.map((m) => {
    const k = m.degree + 1;
    return { ...m, aicc: m.chi2 / scatter_factor ** 2 + 2 * k + (sized ? 0 : (2 * k * (k + 1)) / (points.length - k - 1)) };
  });
  const top = Math.min(...scored.map((m) => m.aicc));
  const total = scored.reduce((s, m) => s + Math.exp((top - m.aicc) / 2), 0);
  return {
    models: scored.map(({ degree, chi2, dof, aicc, centred }) => ({
      degree,
      coefficients: coefficients(points, w, weights, degree, centred, scatter_factor, best.dof),
      chi2,
      dof,
      aicc,
      weight: Math.exp((top - aicc) / 2) / total,
    })),
    scatter_factor,
    range_rad_s: [Math.min(...w), Math.max(...w)],
  };
}

/** Of what the points say that the engine wanders; null: they do not know. */
function wanderDof(points: readonly CurvePoint[]): number | null {
  return points[0]?.torque_Nm.parts.find((p) => p.source.estimate === WANDER_ID)?.source.dof ?? null;
}

/** Chance alone makes points scatter that much more than they say in fewer than one of twenty curves. */
const MORE_p = 0.05;

/**
 * Points that scatter more than they say: the curve is that much less certain, with as few degrees of freedom as show it. Where
 * they know how far the engine wanders, only what that cannot explain counts: the few points tell less of it than they did.
 */
function scatterFactor(chi2: number, dof: number, wander_dof: number | null): number {
  const ratio = chi2 / dof;
  if (wander_dof !== null && pOfF(ratio, dof, wander_dof) > MORE_p) return 1;
  return Math.sqrt(Math.max(1, ratio));
}

/** Points nearer to each other than this, as a share of all speeds, are at one: a bend between them cannot be seen. */
const ONE_SPEED = 0.02;
/** Speeds that a curve goes through without one to spare are this far apart: half of what five even ones are. */
const APART = 0.12;

/** @param share of the span of all speeds, by which speeds differ that count as two */
export function differentSpeeds(points: readonly CurvePoint[], share = ONE_SPEED): number {
  const w = points.map((p) => p.speed_rad_s).sort((a, b) => a - b);
  const near = share * ((w.at(-1) ?? 0) - (w[0] ?? 0));
  let from = -Infinity;
  let n = 0;
  for (const v of w) {
    if (v - from <= near) continue;
    from = v;
    n++;
  }
  return n;
}

/**
 * Each coefficient is a sum over the points: what a point alone would give is its share. It is worked out over the centred speed:
 * where speeds lie within a fifth of themselves, powers of the speed itself leave six digits of a sum and no sound slope.
 */
function coefficients(
  points: readonly CurvePoint[],
  w: readonly number[],
  weights: readonly number[],
  degree: Degree,
  { centre, scale, unscaled }: PolynomialFit['centred'],
  scatter_factor: number,
  dof: number,
): Quantity[] {
  const back = backToX(degree + 1, centre, scale);
  const shares = w.map((x, i) => {
    const z = (x - centre) / scale;
    const overZ = unscaled.map((row) => (weights[i] ?? 0) * row.reduceRight((sum, v) => sum * z + v, 0));
    return back.map((row) => row.reduce((sum, v, j) => sum + v * (overZ[j] ?? 0), 0));
  });
  const values = Array.from({ length: degree + 1 }, (_, k) => points.reduce((s, p, i) => s + (shares[i]?.[k] ?? 0) * p.torque_Nm.value, 0));
  const extra = scatter_factor ** 2 - 1;
  return values.map((value, k) => {
    const told = combine(value, 'Nm', points.map((p, i) => [p.torque_Nm, shares[i]?.[k] ?? 0] as const));
    if (extra === 0) return told;
    // One source a point, so that the coefficients stay correlated as the fit makes them.
    const scatter = points.map((_, i) => {
      const source = { id: `curve scatter, point ${i + 1} at ${w[i] ?? 0}`, says: 'scatter of the points about the curve beyond their own', kind: 'random', shape: 'student', dof, estimate: 'curve scatter', cure: 'make more points, or let each settle for longer' } as const;
      return { source, c_u: ((shares[i]?.[k] ?? 0) * Math.sqrt(extra)) / Math.sqrt(weights[i] ?? 1) };
    });
    return combine(value, 'Nm', [[told, 1], [quantity(0, 'Nm', scatter), 1]]);
  });
}

/** Torque of one model at a speed. */
export function torqueAt(model: CurveModel, speed_rad_s: number): Quantity {
  const powers = model.coefficients.map((_, k) => speed_rad_s ** k);
  const value = model.coefficients.reduce((s, c, k) => s + c.value * (powers[k] ?? 0), 0);
  return combine(value, 'Nm', model.coefficients.map((c, k) => [c, powers[k] ?? 0] as const));
}

/** Torque of all models, each by its weight; how far they stand apart is a source of its own. */
export function curveAt(curve: Curve, speed_rad_s: number): Quantity {
  return averaged(curve.models.map((m) => ({ weight: m.weight, value: torqueAt(m, speed_rad_s) })), 'Nm');
}

/**
 * Mean over models (Burnham and Anderson 2002, 4.3: variance within plus variance between).
 *
 * @param spread by the models' weights, or all models alike: where a flat top lies hangs on the model far more than what
 *   the weights, which judge the points and not the top, can tell
 */
export function averaged(parts: readonly { readonly weight: number; readonly value: Quantity }[], unit: string, spread: 'weighted' | 'alike' = 'weighted'): Quantity {
  const total = parts.reduce((s, p) => s + p.weight, 0);
  const mean = parts.reduce((s, p) => s + (p.weight * p.value.value) / total, 0);
  const shareOf = (weight: number): number => (spread === 'alike' ? 1 / parts.length : weight / total);
  const between = Math.sqrt(parts.reduce((s, p) => s + shareOf(p.weight) * (p.value.value - mean) ** 2, 0));
  const within = combine(mean, unit, parts.map((p) => [p.value, p.weight / total] as const));
  const source = { id: 'curve: choice of model', says: 'which curve to draw through the points', kind: 'random', shape: 'normal', dof: Infinity, cure: 'make more points where the curve bends' } as const;
  return combine(mean, unit, [[within, 1], [quantity(0, unit, [{ source, c_u: between }]), 1]]);
}

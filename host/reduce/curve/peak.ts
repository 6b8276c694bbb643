import { also, combine, quantity, u_random } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';
import { averaged, differentSpeeds, fitCurve, torqueAt } from './fit.js';
import type { Curve, CurveModel, CurvePoint } from './fit.js';

export interface Peak {
  readonly power_W: Quantity;
  readonly speed_rad_s: Quantity;
  /** Points that it rests on: those near the top, so that what the engine does near stall or near free speed bends nothing here. */
  readonly points_used: number;
  readonly curve: Curve;
}

/** no_top: power still rises towards the slowest or the fastest point, so the peak was not passed. */
export type PeakResult = { readonly state: 'found'; readonly peak: Peak } | { readonly state: 'no_top'; readonly side: 'slow' | 'fast' };

/** Points below this share of the best power are left to the rest of the curve. */
const NEAR_TOP = 0.85;
/** At so many speeds at least. */
const LEAST_points = 4;

/**
 * Greatest power and its speed from the curve, not from the highest point, which is high by luck. It is that of the engine as it
 * was on the mean over these points: what it gives in another session is another matter.
 *
 * @throws TOO_FEW_POINTS
 */
export function peakPower(points: readonly CurvePoint[]): PeakResult {
  const whole = fitCurve(points);
  const near = nearTop(points, whole);
  const curve = fitCurve(near);
  const tops = curve.models.map((m) => ({ model: m, w: topOf(m, curve.range_rad_s) }));
  const best = tops.reduce((a, b) => (b.model.weight > a.model.weight ? b : a));
  if (typeof best.w === 'string') return { state: 'no_top', side: best.w };
  const found = tops.flatMap(({ model, w }) => (typeof w === 'number' ? [{ weight: model.weight, power: powerAt(model, w), speed: speedOfTop(model, w) }] : []));
  const power = averaged(found.map((f) => ({ weight: f.weight, value: f.power })), 'W');
  return {
    state: 'found',
    peak: {
      power_W: also(power, choiceOfPoints(power, whole)),
      speed_rad_s: averaged(found.map((f) => ({ weight: f.weight, value: f.speed })), 'rad/s', 'alike'),
      points_used: near.length,
      curve,
    },
  };
}

/** How far the top of the curve through all points lies from that through those near it: a curve of another shape shows there. */
function choiceOfPoints(power: Quantity, whole: Curve): Quantity {
  const tops = whole.models.flatMap((model) => {
    const w = topOf(model, whole.range_rad_s);
    return typeof w === 'number' ? [{ weight: model.weight, power: powerAt(model, w).value }] : [];
  });
  const total = tops.reduce((s, t) => s + t.weight, 0);
  if (total < 0.5) return quantity(0, 'W', []);
  const off = tops.reduce((s, t) => s + (t.weight * t.power) / total, 0) - power.value;
  const source = { id: 'curve: choice of points', says: 'which points to rest the peak on', kind: 'random', shape: 'normal', dof: Infinity, cure: 'make more points near the peak' } as const;
  return quantity(0, 'W', [{ source, c_u: off / 2 }]);
}

/** By the curve through all of them: by its own power a point that is high by luck would be taken, and one that is low left. */
function nearTop(points: readonly CurvePoint[], { models }: Curve): CurvePoint[] {
  const power = ({ speed_rad_s: w }: CurvePoint): number => models.reduce((s, m) => s + m.weight * w * m.coefficients.reduceRight((t, c) => t * w + c.value, 0), 0);
  const ranked = [...points].sort((a, b) => power(b) - power(a));
  const most = ranked[0] === undefined ? 0 : power(ranked[0]);
  const near: CurvePoint[] = [];
  for (const p of ranked) if (power(p) >= NEAR_TOP * most || differentSpeeds(near) < LEAST_points) near.push(p);
  return near.sort((a, b) => a.speed_rad_s - b.speed_rad_s);
}

/** Where power is greatest within the points; or towards which end it still rises. */
function topOf(model: CurveModel, [from, to]: readonly [number, number]): number | 'slow' | 'fast' {
  const slope = (w: number): number => model.coefficients.reduce((s, c, k) => s + (k + 1) * c.value * w ** k, 0);
  // The first place from the slow side where power stops rising; 200 steps are far finer than points lie.
  const steps = 200;
  if (slope(from) <= 0) return 'slow';
  for (let i = 1; i <= steps; i++) {
    let high = from + ((to - from) * i) / steps;
    if (slope(high) > 0) continue;
    let low = high - (to - from) / steps;
    for (let n = 0; n < 50; n++) {
      const mid = (low + high) / 2;
      if (slope(mid) > 0) low = mid;
      else high = mid;
    }
    return (low + high) / 2;
  }
  return 'fast';
}

/**
 * At the top power does not change with speed, so only the torque's uncertainty counts. The greatest of a curve that is itself
 * uncertain lies too high by half its curvature times the variance of where it is: that is taken off.
 */
function powerAt(model: CurveModel, w: number): Quantity {
  const torque = torqueAt(model, w);
  const high = (Math.max(0, -curvatureAt(model, w)) / 2) * u_random(speedOfTop(model, w)) ** 2;
  return combine(torque.value * w - high, 'W', [[torque, w]]);
}

/** The top moves by minus (change of slope) over curvature. */
function speedOfTop(model: CurveModel, w: number): Quantity {
  const curvature = curvatureAt(model, w);
  if (curvature >= 0) return quantity(w, 'rad/s', []);
  return combine(w, 'rad/s', model.coefficients.map((c, k) => [c, (-(k + 1) * w ** k) / curvature] as const));
}

/** Second derivative of power over speed. */
const curvatureAt = (model: CurveModel, w: number): number => model.coefficients.reduce((s, c, k) => (k === 0 ? s : s + k * (k + 1) * c.value * w ** (k - 1)), 0);

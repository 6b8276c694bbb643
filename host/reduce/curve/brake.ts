import { expanded } from '../../sense/uncertainty/coverage.js';
import { combine, difference, estimated, scaled } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';
import { curveAt } from './fit.js';
import type { Curve } from './fit.js';

/** How the brake's torque goes with speed at one setting. Friction: hardly at all. Eddy current, or a generator into a resistor: in proportion. */
export const brakeKinds = ['friction', 'eddy', 'generator'] as const;
export type BrakeKind = (typeof brakeKinds)[number];

export interface BrakeFinding {
  /** null: neither told nor found. proportional: eddy or generator, which torque and speed cannot tell apart. */
  readonly kind: BrakeKind | 'proportional' | null;
  readonly from: 'told' | 'found' | 'unknown';
  /** Of torque with speed at one setting: 0 constant, 1 in proportion; null: the points show none. */
  readonly exponent: Quantity | null;
  readonly says: string;
}

/** Torque and speed block by block at one setting of the brake. */
export interface Setting {
  readonly torque_Nm: readonly number[];
  readonly speed_rad_s: readonly number[];
  /** Middle of each block, on the clock of the points; absent: none is shared. */
  readonly t_s?: readonly number[];
}

/**
 * By what power of the speed the brake's torque moves while nobody touches it: the engine's own wander shows it. One slope
 * of relative torque over relative speed for all settings, each about its own line in time: a brake that fades as it warms
 * slides along the engine's curve and says nothing of its own.
 */
export function brakeExponent(settings: readonly Setting[]): Quantity | null {
  let sxx = 0;
  let sxy = 0;
  let syy = 0;
  let n = 0;
  for (const { torque_Nm, speed_rad_s } of settings) {
    const [T, w] = [meanOf(torque_Nm), meanOf(speed_rad_s)];
    if (torque_Nm.length < 4 || !(Math.abs(T) > 0) || !(w > 0)) continue;
    const [xs, ys] = [detrended(speed_rad_s.map((v) => v / w - 1)), detrended(torque_Nm.map((v) => v / T - 1))];
    for (const [i, y] of ys.entries()) {
      const x = xs[i] ?? 0;
      sxx += x * x;
      sxy += x * y;
      syy += y * y;
    }
    n += torque_Nm.length - 2;
  }
  const dof = n - 1;
  if (!(sxx > 0) || dof < 3) return null;
  const slope = sxy / sxx;
  const u = Math.sqrt(Math.max(0, syy - slope * sxy) / dof / sxx);
  return estimated(slope, '', u, dof, { id: 'brake: exponent', says: 'scatter of torque at one setting of the brake', kind: 'random' });
}

/** Half way between a constant torque and one in proportion. */
const BETWEEN = 0.5;
/** Beyond these a slope is no brake's: something else moved. */
const LEAST = -0.5;
const MOST = 2;

export function findBrake(told: BrakeKind | null, exponent: Quantity | null): BrakeFinding {
  const range = exponent === null ? null : { low: exponent.value - expanded(exponent).U, high: exponent.value + expanded(exponent).U };
  const kind = range === null || range.low < LEAST || range.high > MOST ? null : range.high < BETWEEN ? 'friction' : range.low > BETWEEN ? 'proportional' : null;
  const seen = exponent === null || range === null ? '' : `at one setting torque goes with speed to the power ${exponent.value.toFixed(2)} +-${expanded(exponent).U.toFixed(2)}`;
  if (told !== null) {
    const contrary = kind !== null && (kind === 'friction') !== (told === 'friction');
    return { kind: told, from: 'told', exponent, says: contrary ? `${told}, as told; but ${seen}, which is another kind` : `${told}, as told` };
  }
  if (kind !== null) return { kind, from: 'found', exponent, says: `${kind === 'friction' ? 'friction' : 'eddy or generator'}, as found: ${seen}` };
  return { kind: null, from: 'unknown', exponent, says: `unknown${seen === '' ? '' : `: ${seen}, which does not decide`}; tell it with --brake` };
}

/** Slope of the averaged curve, Nm per rad/s. */
export function slopeAt(curve: Curve, speed_rad_s: number): Quantity {
  const terms = curve.models.flatMap((m) => m.coefficients.flatMap((c, k) => (k === 0 ? [] : [[c, m.weight * k * speed_rad_s ** (k - 1)] as const])));
  return combine(terms.reduce((s, [c, d]) => s + c.value * d, 0), 'Nm s', terms);
}

export type Stability = 'stable' | 'unstable' | 'on_the_edge' | 'unknown';

/**
 * A speed holds where the brake's torque rises more with speed than the engine's: what is in excess then pulls back. With
 * a torque in proportion to speed its slope is torque over speed, with a constant one 0.
 */
export function stabilityAt(curve: Curve, speed_rad_s: number, kind: BrakeFinding['kind']): { readonly state: Stability; readonly margin: Quantity | null } {
  if (kind === null) return { state: 'unknown', margin: null };
  const engine = slopeAt(curve, speed_rad_s);
  const margin = kind === 'friction' ? scaled(engine, -1, engine.unit) : difference(scaled(curveAt(curve, speed_rad_s), 1 / speed_rad_s, engine.unit), engine);
  const { U } = expanded(margin);
  return { state: margin.value > U ? 'stable' : margin.value < -U ? 'unstable' : 'on_the_edge', margin };
}

function detrended(v: readonly number[]): number[] {
  const [mean, mid] = [meanOf(v), (v.length - 1) / 2];
  const slope = v.reduce((s, x, i) => s + (i - mid) * x, 0) / v.reduce((s, _, i) => s + (i - mid) ** 2, 0);
  return v.map((x, i) => x - mean - slope * (i - mid));
}

const meanOf = (v: readonly number[]): number => v.reduce((s, x) => s + x, 0) / v.length;

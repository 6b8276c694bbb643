import { RPM_per_rad_s } from '../../sense/physics/units.js';
import { curveAt } from '../curve/fit.js';
import type { Curve } from '../curve/fit.js';
import { compare } from './compare.js';


/** Torque, and so power, of b over a at one speed, less 1. */
export interface AtSpeed {
  readonly speed_rpm: number;
  readonly torque_a_Nm: number;
  readonly torque_b_Nm: number;
  readonly difference: number;
  /** As if this speed were the only one that is looked at. */
  readonly interval95: readonly [number, number];
}

const SPEEDS = 5;

/**
 * The two builds side by side on their fitted curves, at speeds that every run of both passed: free speed may rise while
 * power falls, and the reverse. These are shown, and nothing is called by them: that would be further looks.
 *
 * @param ledger curves of the other builds, one list a build; those that pass a speed are its yardstick there
 * @returns none where the runs have no speed in common, or their scatter is not known
 */
export function atCommonSpeeds(a: readonly Curve[], b: readonly Curve[], ledger: readonly (readonly Curve[])[], speeds = SPEEDS): AtSpeed[] {
  const both = [...a, ...b];
  const from = Math.max(...both.map((c) => c.range_rad_s[0]));
  const to = Math.min(...both.map((c) => c.range_rad_s[1]));
  if (a.length === 0 || b.length === 0 || !(to > from)) return [];
  return Array.from({ length: speeds }, (_, i) => from + ((to - from) * i) / (speeds - 1)).flatMap((w) => {
    // The ends of the range are its own, whatever rounding makes of them.
    const torques = (curves: readonly Curve[]): number[] =>
      curves.flatMap((c) => (w >= c.range_rad_s[0] * (1 - 1e-12) && w <= c.range_rad_s[1] * (1 + 1e-12) ? curveAt(c, w).value : [])).filter((t) => t > 0);
    const [ta, tb] = [torques(a), torques(b)];
    const others = ledger.map(torques);
    if (ta.length < a.length || tb.length < b.length || ![ta, tb, ...others].some((t) => t.length > 1)) return [];
    const { difference, interval95 } = compare({ a: ta, b: tb, ledger: others });
    return [{ speed_rpm: w * RPM_per_rad_s, torque_a_Nm: geometric(ta), torque_b_Nm: geometric(tb), difference, interval95 }];
  });
}

/** As the comparison is of logarithms. */
const geometric = (x: readonly number[]): number => Math.exp(x.reduce((s, v) => s + Math.log(v), 0) / x.length);

import { studentQuantile } from '../../sense/fit/student.js';
import { u_random } from '../../sense/uncertainty/quantity.js';
import type { Curve } from './fit.js';
import { powersOf, weightedFit } from './least_squares.js';
import type { CurveMember } from './members.js';

export interface Off {
  /** How far the point lies from the curve of all others, over what it may: Student's t of a deleted residual (R. Cook and S. Weisberg, Residuals and Influence in Regression, 1982, 2.2). */
  readonly t: number;
  /** Chance would put any of the points so far off in fewer than one of a hundred sweeps. */
  readonly stands_off: boolean;
}

const P_LIMIT = 0.01;

/** Which points do not belong to the curve through the others, by the likeliest model. They stay in it: a person decides. */
export function offCurve(members: readonly CurveMember[], curve: Curve): Off[] {
  const { degree } = curve.models.reduce((a, b) => (b.weight > a.weight ? b : a));
  const n = members.length;
  const dof = n - degree - 2;
  const T = members.map((m) => m.torque_Nm.value);
  const floor = 1e-6 * Math.max(...T.map(Math.abs));
  const fit = weightedFit(powersOf(members.map((m) => m.speed_rad_s), degree, curve.range_rad_s[1]), T, members.map((m) => Math.max(u_random(m.torque_Nm), floor)));
  const limit = dof < 1 ? Infinity : studentQuantile(1 - P_LIMIT / (2 * n), dof);
  return members.map((_, i) => {
    const left = Math.max(1e-9, 1 - (fit.leverage[i] ?? 0));
    const r = fit.residuals[i] ?? 0;
    // Scatter of the others; points are never taken for better than they say.
    const others = Math.max(1, (fit.chi2 - (r * r) / left) / Math.max(1, dof));
    const t = r / Math.sqrt(others * left);
    return { t, stands_off: Math.abs(t) > limit };
  });
}

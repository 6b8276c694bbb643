import { fCdf, normalCdf, normalQuantile, tCdf, tQuantile } from './distributions.js';
import { positive, within } from '../physics/within.js';

/** From here on Student's distribution is the normal one to all digits that are shown. */
const DOF_NORMAL = 1e7;

/** Student's quantile: a share p lies below. dof need not be whole; Infinity is the normal distribution. @throws OUT_OF_RANGE */
export function studentQuantile(p: number, dof: number): number {
  within('A probability', p, '', Number.MIN_VALUE, 1 - Number.EPSILON, 'it lies between 0 and 1, 95 % is 0.95');
  checkDof(dof);
  return dof > DOF_NORMAL ? normalQuantile(p, 0, 1) : tQuantile(p, dof);
}

/** Share of Student's distribution below t. @throws OUT_OF_RANGE */
export function studentCdf(t: number, dof: number): number {
  checkDof(dof);
  return dof > DOF_NORMAL ? normalCdf(t, 0, 1) : tCdf(t, dof);
}

/** Factor of table G.2 of JCGM 100: a share p lies within it to both sides. @throws OUT_OF_RANGE */
export function coverageFactor(p: number, dof: number): number {
  return studentQuantile((1 + p) / 2, dof);
}

/**
 * How often chance alone gives an F as large. With one degree of freedom above it is that
 * of t = sqrt(F), which keeps the digits of a small one. @throws OUT_OF_RANGE
 */
export function pOfF(F: number, dof_above: number, dof_below: number): number {
  within('An F', F, '', 0, Infinity, 'it is a ratio of variances');
  checkDof(dof_above);
  checkDof(dof_below);
  if (dof_above === 1) return Math.min(1, 2 * studentCdf(-Math.sqrt(F), dof_below));
  return 1 - fCdf(F, dof_above, dof_below);
}

function checkDof(dof: number): void {
  if (dof !== Infinity) positive('The degrees of freedom', dof, '', 'more readings give more of them');
}

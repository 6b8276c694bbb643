import { correlated } from '../uncertainty/correlated.js';
import { combine } from '../uncertainty/quantity.js';
import type { Quantity } from '../uncertainty/quantity.js';
import type { LoadFit } from './fit.js';

/**
 * The coefficients of a fit, made over a load in SI: counts = c0 + c1 x + c2 x^2 with x = unit * load, so c_k over unit^k.
 * @param unit N or Nm that one unit of the file's load is, with its doubt
 * @returns null where the points show no scatter, so that nothing is known of the doubt
 */
export function inSI({ coefficients, covariance, dof, n }: LoadFit, unit: Quantity): Quantity[] | null {
  if (covariance === null) return null;
  const of = (k: number): string => (k === 0 ? 'count' : `count/${unit.unit}${k === 2 ? '^2' : ''}`);
  const fitted = correlated(
    coefficients.map((value, k) => ({ value, unit: of(k) })),
    covariance,
    { id: 'points: scatter', says: `scatter of ${n} points`, kind: 'systematic', shape: 'student', dof, cure: 'take more points' },
  );
  return fitted.map((c, k) => {
    const per = unit.value ** -k;
    return combine(c.value * per, of(k), [[c, per], [unit, (-k * c.value * per) / unit.value]]);
  });
}

import { correlated } from '../../sense/uncertainty/correlated.js';
import { also, combine, product, scaled } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';
import type { Slowing } from './coast.js';

/** Friction torque a + b w + c w^2, in Nm, of a wheel of known inertia that was let run out. */
export interface Friction {
  readonly coefficients: readonly [a: Quantity, b: Quantity, c: Quantity];
  readonly range_rad_s: readonly [number, number];
}

/**
 * @param id of the coast-down, for its sources
 * @param tick of the clock that dated its turns, whose doubt stretches all times: a goes with its square, b with it, c not at all
 */
export function frictionOf(slowing: Slowing, inertia_kgm2: Quantity, id: string, tick: Quantity | null = null): Friction {
  const source = { id: `${id}: scatter of turns`, says: 'scatter of the turns about the law of slowing', kind: 'random', shape: 'student', dof: slowing.dof, cure: 'repeat the coast-down, from a higher speed' } as const;
  const stretched = (q: Quantity, power: number): Quantity => (tick === null || power === 0 ? q : also(q, scaled({ ...tick, value: 0 }, (-power * q.value) / tick.value, q.unit)));
  const [a, b, c] = correlated(slowing.coefficients.map((value) => ({ value, unit: 'rad/s2' })), slowing.covariance, source).map((q, k) => product(stretched(q, 2 - k), inertia_kgm2, 'Nm'));
  return { coefficients: [a as Quantity, b as Quantity, c as Quantity], range_rad_s: slowing.range_rad_s };
}

export function frictionAt({ coefficients: [a, b, c] }: Friction, w: number): Quantity {
  return combine(a.value + b.value * w + c.value * w * w, 'Nm', [[a, 1], [b, w], [c, w * w]]);
}

/** Power that friction takes at a speed. */
export const frictionPower_W = (friction: Friction, w: number): Quantity => {
  const torque = frictionAt(friction, w);
  return combine(torque.value * w, 'W', [[torque, w]]);
};

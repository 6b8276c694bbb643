import { fail } from '../../errors.js';
import { propagate } from '../../sense/uncertainty/propagate.js';
import { estimated } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';
import { slowingAt } from './coast.js';
import type { Slowing } from './coast.js';

/**
 * Inertia from two coast-downs over the same speeds, the second with a ring of known inertia added: friction is the same,
 * so I slow1 = (I + ring) slow2, I = ring slow2 / (slow1 - slow2). At the middle of the speeds that both passed.
 *
 * @throws COAST_UNFIT where they share no speed, or the ring made no difference that can be seen
 */
export function inertiaByRing(without: Slowing, withRing: Slowing, ring_kgm2: Quantity): Quantity {
  const from = Math.max(without.range_rad_s[0], withRing.range_rad_s[0]);
  const to = Math.min(without.range_rad_s[1], withRing.range_rad_s[1]);
  if (!(to > from)) throw fail('COAST_UNFIT', { why: 'the two coast-downs passed no speed in common', todo: 'spin both to the same speed' });
  const w = (from + to) / 2;
  const [slow1, slow2] = [without, withRing].map((s, i) => {
    const { rad_s2, u_rad_s2 } = slowingAt(s, w);
    return estimated(rad_s2, 'rad/s2', u_rad_s2, s.dof, { id: `ring coast ${i}`, says: i === 0 ? 'slowing without the ring' : 'slowing with the ring', kind: 'random', cure: 'repeat it, or take a heavier ring' });
  }) as [Quantity, Quantity];
  if (!(slow1.value - slow2.value > 2 * Math.hypot(...[slow1, slow2].map((q) => Math.abs(q.parts[0]?.c_u ?? 0))))) {
    throw fail('COAST_UNFIT', { why: 'the ring made no difference that can be seen', todo: 'take a ring of at least a fifth of the wheel\'s inertia' });
  }
  return propagate((ring, a, b) => (ring * b) / (a - b), [ring_kgm2, slow1, slow2], 'kgm2');
}

/**
 * A part hung level on three threads: I = m g R^2 T^2 / (4 pi^2 L) for small swings (trifilar pendulum, common practice, no source).
 *
 * @param radius_m of the threads' circle; length_m of the threads; period_s of one full swing
 */
export function inertiaByThreads(mass_kg: Quantity, gravity_m_s2: Quantity, radius_m: Quantity, length_m: Quantity, period_s: Quantity): Quantity {
  return propagate((m, g, R, L, T) => (m * g * R * R * T * T) / (4 * Math.PI ** 2 * L), [mass_kg, gravity_m_s2, radius_m, length_m, period_s], 'kgm2');
}

/** Of a ring or a disc with a hole: m (r1^2 + r2^2) / 2. */
export function ringInertia(mass_kg: Quantity, inner_radius_m: Quantity, outer_radius_m: Quantity): Quantity {
  return propagate((m, a, b) => (m * (a * a + b * b)) / 2, [mass_kg, inner_radius_m, outer_radius_m], 'kgm2');
}

import type { HungPiece } from '../../../../../host/sense/load/hung.js';
import type { HungPoint, LoadSetup } from '../../../../../host/sense/load/calibrate.js';
import { normalsFrom, seeded } from '../../../../support/random.js';

/** A simulated cell for these tests: counts from a true load, with what is drawn. */
export const normals = (seed: number): (() => number) => {
  const next = seeded(seed);
  return normalsFrom(next);
};

export const piece = (nominal_g: number, half_g = 0, id?: string): HungPiece => ({ says: `${nominal_g} g`, nominal_g, half_g, ...(id === undefined ? {} : { id }) });

export const inPlace: LoadSetup = {
  key: 'test 1',
  kind: 'torque',
  set: 'test set',
  gravity: { value_m_s2: 9.81, u_m_s2: 0, says: '9.81 m/s2' },
  arm: { value_m: 0.06, u_m: 0 },
  level_within_deg: 0,
  air_kg_m3: { value: 1.2, half: 0 },
};

/** N for a conventional mass in air of 1.2 kg/m3, at 9.81 m/s2. */
export const pull_N = (g: number): number => (g / 1000) * 9.81 * (1 - 1.2 / 8000);

/** zero, up, down, zero: what a guide asks for. @param count of a load in N, in the direction in which it was reached */
export function upAndDown(masses_g: readonly number[], count: (force_N: number, direction: 'up' | 'down') => number, half_g = 0, u_count: number | null = null): HungPoint[] {
  const up = [0, ...masses_g].map((g) => [g, 'up'] as const);
  const down = [...masses_g.slice(0, -1).reverse(), 0].map((g) => [g, 'down'] as const);
  return [...up, ...down].map(([g, direction], i) => ({ pieces: g === 0 ? [] : [piece(g, half_g)], count: count(pull_N(g), direction), direction, u_count, n: 100, sequence: i, t_s: i * 30 }));
}

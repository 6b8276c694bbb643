import { describe, expect, it } from 'vitest';

import { calibrateLoad } from '../../../../host/sense/load/calibrate.js';
import { meanCounts } from '../../../../host/sense/load/counts.js';
import { loadReading } from '../../../../host/sense/load/reading.js';
import { zeroAt } from '../../../../host/sense/load/zero.js';
import { sheetOf } from '../../../../host/sense/sheet.js';
import { expanded } from '../../../../host/sense/uncertainty/coverage.js';
import { u } from '../../../../host/sense/uncertainty/quantity.js';
import { seeded } from '../../../support/random.js';
import { inPlace, normals, piece } from './support/cell.js';

interface Trial {
  readonly error: number;
  readonly u: number;
  readonly U: number;
}

interface Limits {
  /** Of the radius, in m; of masses, as a share. */
  readonly radius_m: number;
  readonly mass_share: number;
  readonly noise_count: number;
  /** Scatter of a hung load beyond noise. */
  readonly hang_count: number;
  /** Half of the loop in mid-range, as a share of the greatest load. */
  readonly loop_share: number;
}

const MASSES_g = [50, 100, 200, 300, 400];
const SLOPE = 800_000;

/** One rig whose parts are drawn within their limits, calibrated by the shipped code, and one reading of it. */
function trial(seed: number, limits: Limits): Trial {
  const uniform = seeded(seed);
  for (let i = 0; i < 4; i++) uniform();
  const normal = normals(seed + 7_000_000);
  const either = (half: number): number => half * (2 * uniform() - 1);
  const radius_m = 0.06 + either(limits.radius_m);
  const gravity = 9.81 + 5e-4 * normal();
  const grams = new Map(MASSES_g.map((g) => [g, g * (1 + either(limits.mass_share))]));
  const slope = SLOPE * (1 + 0.1 * uniform());
  const zero = 20_000 + 1000 * normal();
  const drift_per_s = either(0.1);
  const top_Nm = 0.4 * 9.81 * 0.06;
  const counts = (torque_Nm: number, t_s: number, side: number): number => {
    const s = torque_Nm / top_Nm;
    return zero + drift_per_s * t_s + (slope / 0.06) * (torque_Nm + side * limits.loop_share * top_Nm * 4 * s * (1 - s));
  };
  const read = (mean: number) => meanCounts(Array.from({ length: 40 }, () => ({ count: Math.round(mean + limits.noise_count * normal()), flags: 0 })));

  const steps = [...[0, ...MASSES_g].map((g) => [g, 'up'] as const), ...[...MASSES_g.slice(0, -1).reverse(), 0].map((g) => [g, 'down'] as const)];
  const hung = steps.map(([g, direction], i) => {
    const torque_Nm = ((grams.get(g) ?? 0) / 1000) * gravity * 0.99985 * radius_m;
    const mean = read(counts(torque_Nm, i * 10, direction === 'up' ? -1 : 1) + limits.hang_count * normal());
    return { pieces: g === 0 ? [] : [piece(g, g * limits.mass_share)], direction, count: mean.count ?? NaN, u_count: mean.u_count, n: mean.n, t_s: i * 10, sequence: i };
  });
  const sheet = sheetOf({ cell_creep_share: 0, cell_slope_share_per_K: 0, cell_nonlinearity_share: 1e-4 });
  const { model } = calibrateLoad(
    hung,
    { ...inPlace, gravity: { value_m_s2: 9.81, u_m_s2: 5e-4, says: 'test' }, arm: { value_m: 0.06, u_m: limits.radius_m / Math.sqrt(3) } },
    sheet,
  );
  const zeroOf = (t_s: number) => {
    const mean = read(counts(0, t_s, 0));
    return { id: `${seed} ${t_s}`, t_s, count: mean.count ?? NaN, u_count: mean.u_count ?? NaN, dof: mean.dof ?? 1 };
  };
  const torque_Nm = top_Nm * (0.05 + 0.9 * uniform());
  const at_s = 600 + 1600 * uniform();
  const mean = read(counts(torque_Nm, at_s, Math.cos(Math.PI * uniform())) + limits.hang_count * normal());
  const { torque } = loadReading({ id: `${seed} r`, count: mean.count ?? NaN, u_count: mean.u_count ?? NaN, dof: mean.dof ?? 1 }, zeroAt([zeroOf(500), zeroOf(2300)], at_s, model, sheet), model);
  if (torque === null) throw new Error('not read');
  return { error: torque.value - torque_Nm, u: u(torque), U: expanded(torque).U };
}

const share = (trials: readonly Trial[]): number => trials.filter((t) => Math.abs(t.error) <= t.U).length / trials.length;
const sd = (x: readonly number[]): number => Math.sqrt(x.reduce((s, v) => s + v * v, 0) / x.length);

/** 200 rigs know a share of 0.95 to 0.015: limits are three of that. A loop whose branches are the likeliest places has an end that no reading passes. */
describe('the interval of a torque reading (simulated rigs)', () => {
  it.each([
    ['ruled by the radius', { radius_m: 3e-4, mass_share: 5e-5, noise_count: 30, hang_count: 0, loop_share: 0 }, 0.9, 0.995],
    ['ruled by the scatter of hung loads', { radius_m: 1e-5, mass_share: 1e-6, noise_count: 30, hang_count: 400, loop_share: 0 }, 0.9, 0.995],
    ['ruled by the masses', { radius_m: 1e-6, mass_share: 5e-3, noise_count: 30, hang_count: 0, loop_share: 0 }, 0.9, 0.995],
    ['ruled by the loop', { radius_m: 1e-5, mass_share: 1e-6, noise_count: 30, hang_count: 0, loop_share: 2e-3 }, 0.97, 1],
    ['of everything', { radius_m: 2e-4, mass_share: 1e-3, noise_count: 30, hang_count: 200, loop_share: 5e-4 }, 0.9, 0.995],
    ['ruled by noise', { radius_m: 1e-6, mass_share: 1e-7, noise_count: 3000, hang_count: 0, loop_share: 0 }, 0.9, 0.995],
  ] as const)('%s', (_, limits, least, most) => {
    const n = 200;
    const trials = Array.from({ length: n }, (_, i) => trial(1000 + i, limits));
    const ratio = sd(trials.map((t) => t.error / t.u));
    const width = trials.reduce((s, t) => s + t.U, 0) / n / (1.96 * sd(trials.map((t) => t.error)));
    expect(share(trials)).toBeGreaterThan(least);
    expect(share(trials)).toBeLessThanOrEqual(most);
    expect(ratio).toBeGreaterThan(0.8);
    expect(ratio).toBeLessThan(1.25);
    expect(width).toBeLessThan(1.15);
  });
});

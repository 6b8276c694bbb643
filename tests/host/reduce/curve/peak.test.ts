import { describe, expect, it } from 'vitest';

import { fitCurve, curveAt } from '../../../../host/reduce/curve/fit.js';
import type { CurvePoint } from '../../../../host/reduce/curve/fit.js';
import { peakPower } from '../../../../host/reduce/curve/peak.js';
import { expanded } from '../../../../host/sense/uncertainty/coverage.js';
import { quantity, u } from '../../../../host/sense/uncertainty/quantity.js';
import { idealCycle } from '../../../../host/reduce/ideal/schmidt.js';
import { normalsFrom, seeded } from '../../../support/random.js';

const next = seeded(3);
const normal = normalsFrom(next);

/** Ideal work of a small gamma, less losses that grow with speed: of no polynomial family below the fourth power. */
const W_J = idealCycle({ kind: 'gamma', hot_swept_cm3: 60, cold_swept_cm3: 22, phase_deg: 85, hot_dead_cm3: 6, cold_dead_cm3: 9, regenerator_cm3: 4 }, 650, 300, 1.013e5).work_J;
const truths: Readonly<Record<string, (w: number) => number>> = {
  // Heat transfer fails as exp(-w / w0): the torque of the cycle less dry and viscous friction.
  cycle: (w) => ((0.35 * W_J) / (2 * Math.PI)) * Math.exp(-w / 95) - 0.003 - 2e-5 * w,
  hump: (w) => 0.045 * (1 - w / 130) + 0.012 * Math.exp(-(((w - 18) / 12) ** 2)) - 0.008 * Math.exp(-w / 6),
  straight: (w) => 0.05 * (1 - w / 140) + 0.0006 * Math.sin(w / 22),
};

function trueTop(T: (w: number) => number): { P: number; w: number } {
  let top = { P: 0, w: 0 };
  for (let w = 5; w < 140; w += 0.01) if (T(w) * w > top.P) top = { P: T(w) * w, w };
  return top;
}

function points(T: (w: number) => number, wRange: readonly [number, number], n: number, noise: number): CurvePoint[] {
  const slope = 0.004 * normal();
  return Array.from({ length: n }, (_, i): CurvePoint => {
    const w = wRange[0] + ((wRange[1] - wRange[0]) * i) / (n - 1) + 0.5 * normal();
    const u_r = noise * T(w);
    return {
      speed_rad_s: w,
      torque_Nm: quantity(T(w) * (1 + slope) + u_r * normal(), 'Nm', [
        { source: { id: 'slope', says: 'slope', kind: 'systematic', shape: 'normal', dof: Infinity }, c_u: 0.004 * T(w) },
        { source: { id: `noise ${i}`, says: 'noise', kind: 'random', shape: 'normal', dof: Infinity }, c_u: u_r },
      ]),
    };
  });
}

describe('peak power from the curve', () => {
  for (const [name, T] of Object.entries(truths)) {
    it(`is unbiased and covered where the truth is none of its models: ${name}`, () => {
      const truth = trueTop(T);
      const errors: number[] = [];
      const us: number[] = [];
      let held = 0;
      let heldSpeed = 0;
      const trials = 600;
      for (let i = 0; i < trials; i++) {
        const result = peakPower(points(T, [truth.w * 0.4, Math.min(128, truth.w * 1.65)], 10, 0.008));
        if (result.state !== 'found') throw new Error(result.state);
        const { power_W, speed_rad_s } = result.peak;
        errors.push(power_W.value / truth.P - 1);
        us.push(u(power_W) / truth.P);
        if (Math.abs(power_W.value - truth.P) <= expanded(power_W).U) held++;
        if (Math.abs(speed_rad_s.value - truth.w) <= expanded(speed_rad_s).U) heldSpeed++;
      }
      const bias = errors.reduce((s, e) => s + e, 0) / trials;
      const u_mean = us.reduce((s, e) => s + e, 0) / trials;
      expect(Math.abs(bias)).toBeLessThan(0.003);
      expect(Math.abs(bias)).toBeLessThan(u_mean / 3);
      expect(held / trials).toBeGreaterThan(0.91);
      expect(heldSpeed / trials).toBeGreaterThan(0.93);
    });
  }

  it('says towards which end power still rises', () => {
    expect(peakPower(points((w) => 0.05 * (1 - w / 140), [80, 130], 8, 0.005))).toMatchObject({ state: 'no_top', side: 'slow' });
    expect(peakPower(points((w) => 0.05 * (1 - w / 140), [10, 60], 8, 0.005))).toMatchObject({ state: 'no_top', side: 'fast' });
  });

  it('widens where points scatter more than they say', () => {
    const T = truths['straight'] as (w: number) => number;
    const calm = points(T, [30, 120], 12, 0.004);
    const wild = calm.map((p, i) => ({ ...p, torque_Nm: { ...p.torque_Nm, value: p.torque_Nm.value * (1 + (i % 2 === 0 ? 0.02 : -0.02)) } }));
    expect(fitCurve(wild).scatter_factor).toBeGreaterThan(3);
    expect(u(curveAt(fitCurve(wild), 70))).toBeGreaterThan(1.5 * u(curveAt(fitCurve(calm), 70)));
  });

  it('goes through the means of repeated speeds, but not where two of them are so near that it would swing between them', () => {
    const at = (speeds: readonly number[]): readonly number[] =>
      fitCurve(speeds.map((w, i) => ({ speed_rad_s: w, torque_Nm: quantity(0.04 * (1 - w / 120), 'Nm', [{ source: { id: `noise ${i}`, says: 'noise', kind: 'random', shape: 'normal', dof: Infinity }, c_u: 1e-4 }]) }))).models.map((m) => m.degree);
    const twice = (speeds: readonly number[]): readonly number[] => [...speeds, ...speeds.map((w) => w + 0.1)];
    expect(at(twice([30, 45, 60, 75, 90]))).toEqual([1, 2, 3, 4]);
    expect(at(twice([30, 45, 60, 63, 90]))).toEqual([1, 2, 3]);
    expect(at([30, 45, 60, 75, 90])).toEqual([1, 2]);
  });

  it('refuses three points', () => {
    expect(() => fitCurve(points((w) => 0.05 - w * 1e-4, [30, 90], 3, 0.01))).toThrow(/4 different speeds/);
  });
});

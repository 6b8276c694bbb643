import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { brakeExponent, findBrake, stabilityAt } from '../../../../host/reduce/curve/brake.js';
import { fitCurve } from '../../../../host/reduce/curve/fit.js';
import { torqueCurve } from '../../../../host/reduce/curve/torque_curve.js';
import { expanded } from '../../../../host/sense/uncertainty/coverage.js';
import { u } from '../../../../host/sense/uncertainty/quantity.js';
import { normalsFrom, seeded } from '../../../support/random.js';
import { pointsOf, RPM } from './made_points.js';
import type { Made } from './made_points.js';

const next = seeded(11);
const normal = normalsFrom(next);

/** Falls from its top near 25 rad/s to 0 at W0. */
const W0 = 130;
const engine = (w: number): number => 0.05 * (1 - w / W0) + 0.004 * Math.sin((Math.PI * w) / W0);
const even = (from: number, to: number, n: number): number[] => Array.from({ length: n }, (_, i) => from + ((to - from) * i) / (n - 1));
const sweep = (speeds: readonly number[], noise = 0.006): Made[] => speeds.map((w) => ({ w, T: engine(w) + noise * 0.03 * normal(), u_T: noise * 0.03 }));

describe('free speed', () => {
  it('is where the torque meets 0, covered, when points lie on both sides or next to it', () => {
    for (const to of [134, 126]) {
      let held = 0;
      const trials = 60;
      for (let i = 0; i < trials; i++) {
        const { quantity } = torqueCurve(pointsOf(sweep(even(35, to, 9)))).free_speed_rpm;
        if (quantity === null) throw new Error('not reached');
        if (Math.abs(quantity.value - W0 * RPM) <= expanded(quantity).U) held++;
        expect(u(quantity)).toBeLessThan(0.03 * quantity.value);
      }
      expect(held / trials).toBeGreaterThan(0.86);
    }
  });

  it('is not told where the points end far from it, with what the fastest still gives', () => {
    const { quantity, reason } = torqueCurve(pointsOf(sweep(even(35, 95, 8)))).free_speed_rpm;
    expect(quantity).toBeNull();
    expect(reason).toMatch(/^not reached: the fastest point, 907 rpm, still gives \d+ % of the greatest torque/);
  });
});

describe('the slow end', () => {
  it('gives a stall torque only next to standstill, else the last stable point, which is none', () => {
    const far = torqueCurve(pointsOf(sweep(even(35, 128, 9))), { brake: 'friction', stopped: true });
    expect(far.stall_torque_Nm).toMatchObject({ quantity: null, state: 'not_measured' });
    expect(far.stall_torque_Nm.reason).toContain('334 rpm');
    expect(far.last_stable).toMatchObject({ n: 1, stability: 'stable' });
    expect(far.last_stable?.says).toContain('stopped after it');
    const near = torqueCurve(pointsOf(sweep(even(6, 128, 12))));
    const q = near.stall_torque_Nm.quantity;
    expect(Math.abs((q?.value ?? NaN) - engine(0))).toBeLessThan(expanded(q ?? { value: 0, unit: 'Nm', parts: [] }).U);
    expect(near.stall_torque_Nm).toMatchObject({ state: 'unverified' });
  });

  it('is stable or not by the rule of slopes, which hangs on the brake', () => {
    // Rises to its top at 60 rad/s.
    const hump = even(20, 110, 10).map((w): Made => ({ w, T: 0.05 - 1e-5 * (w - 60) ** 2, u_T: 5e-5 }));
    const curve = fitCurve(pointsOf(hump).map((p) => ({ speed_rad_s: (p.values.speed_rpm.quantity?.value ?? NaN) / RPM, torque_Nm: p.values.torque_Nm.quantity ?? { value: NaN, unit: '', parts: [] } })));
    expect(stabilityAt(curve, 25, 'friction').state).toBe('unstable');
    expect(stabilityAt(curve, 60, 'friction').state).toBe('on_the_edge');
    expect(stabilityAt(curve, 90, 'friction').state).toBe('stable');
    // Torque over speed is 0.0015 Nm s there, the engine rises by 0.0007.
    expect(stabilityAt(curve, 25, 'eddy')).toMatchObject({ state: 'stable' });
    expect(stabilityAt(curve, 25, null).state).toBe('unknown');
  });
});

describe('the kind of brake', () => {
  const wander = (power: number, noise: number): { torque_Nm: number[]; speed_rad_s: number[] } => {
    const w = even(0, 40, 40).map(() => 60 * (1 + 0.004 * normal()));
    return { speed_rad_s: w, torque_Nm: w.map((v) => 0.03 * (v / 60) ** power * (1 + noise * normal())) };
  };

  it('is found from how torque goes with speed at one setting', () => {
    const of = (power: number) => findBrake(null, brakeExponent(Array.from({ length: 8 }, () => wander(power, 0.002))));
    expect(of(0)).toMatchObject({ kind: 'friction', from: 'found' });
    expect(of(1)).toMatchObject({ kind: 'proportional', from: 'found' });
    expect(findBrake(null, brakeExponent([wander(1, 0.05)]))).toMatchObject({ kind: null, from: 'unknown' });
    expect(findBrake(null, null)).toMatchObject({ kind: null, exponent: null });
  });

  it('is as told, and a contradiction is said', () => {
    const exponent = brakeExponent(Array.from({ length: 8 }, () => wander(1, 0.002)));
    expect(findBrake('friction', exponent).says).toContain('another kind');
    expect(findBrake('eddy', exponent).says).toBe('eddy, as told');
  });
});

describe('up and down', () => {
  const speeds = even(35, 125, 8);
  const both = (error: (w: number, up: boolean, i: number) => number): Made[] =>
    [...[...speeds].reverse(), ...speeds].map((w, i) => {
      const up = i >= speeds.length;
      return { w, T: engine(w) + error(w, up, i) + 4e-5 * normal(), u_T: 4e-5, branch: up ? 'up' : 'down', t_s: 200 * i };
    });
  const found = (error: (w: number, up: boolean, i: number) => number) => torqueCurve(pointsOf(both(error))).branches;

  it('tells drift, lag and stiction by their shapes', () => {
    expect(found((_w, _up, i) => -0.001 * (i / 15))).toMatchObject({ state: 'differ', causes: [{ cause: 'drift' }] });
    expect(found((w, up) => (up ? 1 : -1) * 4e-4 * 4 * ((w - 35) / 90) * (1 - (w - 35) / 90))).toMatchObject({ state: 'differ', causes: [{ cause: 'thermal_lag' }] });
    const stiction = found((_w, up) => (up ? -3e-4 : 3e-4));
    expect(stiction).toMatchObject({ state: 'differ', causes: [{ cause: 'stiction' }] });
    expect(stiction?.up_less_down_Nm?.value).toBeCloseTo(-6e-4, 4);
  });

  it('are said to agree where they do, in about nineteen of twenty sweeps', () => {
    const agree = Array.from({ length: 60 }, () => found(() => 0)).filter((b) => b?.state === 'agree').length;
    expect(agree).toBeGreaterThanOrEqual(53);
    expect(torqueCurve(pointsOf(sweep(speeds))).branches).toMatchObject({ state: 'one_branch' });
  });
});

describe('the curve as a whole', () => {
  it('names the points that it leaves out, and why', () => {
    const made = sweep(even(35, 128, 9));
    const points = pointsOf(made);
    const broken = { ...(points[2] as (typeof points)[number]), values: { ...(points[2] as (typeof points)[number]).values, torque_Nm: { quantity: null, state: 'not_measured', reason: 'no zero' } as const } };
    const curve = torqueCurve(points.with(2, broken), { leave_out: new Map([[5, 'the brake was touched']]) });
    expect(curve.left_out).toEqual([{ n: 3, reason: 'no zero' }, { n: 5, reason: 'the brake was touched' }]);
    expect(curve.points.map((p) => p.n)).toEqual([1, 2, 4, 6, 7, 8, 9]);
    expect(curve.curve?.models.reduce((s, m) => s + m.weight, 0)).toBeCloseTo(1, 12);
  });

  it('keeps a point that stands off, and says so', () => {
    const made = sweep(even(35, 128, 12), 0.002);
    const off = made.with(6, { ...(made[6] as Made), T: (made[6] as Made).T * 0.9 });
    expect(torqueCurve(pointsOf(off)).points).toHaveLength(12);
    expect(torqueCurve(pointsOf(off)).warnings.join()).toMatch(/point 7 lies/);
    expect(torqueCurve(pointsOf(made)).warnings).toEqual([]);
  });

  it('does not pass for verified where a point is not', () => {
    const made = sweep(even(35, 128, 9));
    expect(torqueCurve(pointsOf(made)).verified).toBe(true);
    const one = torqueCurve(pointsOf(made.with(4, { ...(made[4] as Made), lacks: 'it lacks a zero after' })));
    expect(one).toMatchObject({ verified: false, peak_power_W: { state: 'unverified', reason: 'it lacks a zero after' } });
  });

  it('has its peak between the points, its band about the truth, and says what it has not', () => {
    fc.assert(
      fc.property(fc.double({ min: 0.02, max: 0.2, noNaN: true }), fc.double({ min: 60, max: 200, noNaN: true }), (T0, w0) => {
        const made = even(0.25 * w0, 0.98 * w0, 9).map((w): Made => ({ w, T: T0 * (1 - w / w0), u_T: 0.002 * T0 }));
        const curve = torqueCurve(pointsOf(made), { band_speeds: 5 });
        const peak = curve.peak_power_W.quantity;
        expect(curve.band).toHaveLength(5);
        expect(curve.band[0]?.torque_Nm.value).toBeCloseTo(0.75 * T0, 4);
        expect((peak?.value ?? NaN) / ((T0 * w0) / 4)).toBeCloseTo(1, 3);
        expect((curve.peak_speed_rpm.quantity?.value ?? NaN) / ((RPM * w0) / 2)).toBeCloseTo(1, 2);
        expect((curve.peak_torque_Nm.quantity?.value ?? NaN) / (T0 / 2)).toBeCloseTo(1, 2);
      }),
      { seed: 5, numRuns: 20 },
    );
    const slow = torqueCurve(pointsOf(sweep(even(80, 128, 7))));
    expect(slow).toMatchObject({ state: 'no_top', peak_power_W: { quantity: null } });
    expect(slow.why).toContain('slower');
    expect(torqueCurve(pointsOf(sweep([40, 60, 80])))).toMatchObject({ state: 'too_few_points', curve: null, verified: false });
  });
});

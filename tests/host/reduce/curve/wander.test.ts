import { describe, expect, it } from 'vitest';

import type { Setting } from '../../../../host/reduce/curve/brake.js';
import { fitCurve } from '../../../../host/reduce/curve/fit.js';
import type { CurveMember } from '../../../../host/reduce/curve/members.js';
import { peakPower } from '../../../../host/reduce/curve/peak.js';
import { withWander } from '../../../../host/reduce/curve/wander.js';
import { dof, expanded } from '../../../../host/sense/uncertainty/coverage.js';
import { combine, correlation, exact, quantity, u, u_random } from '../../../../host/sense/uncertainty/quantity.js';
import { normalsFrom, seeded } from '../../../support/random.js';

const normal = normalsFrom(seeded(77));
/** Shaft torque of an engine at rest with itself, Nm: power is greatest at 60 rad/s. */
const T = (w: number): number => 0.04 * (1 - w / 120);
const POINT_s = 75;
const APART_s = 95;

interface Made {
  readonly members: readonly CurveMember[];
  readonly settings: readonly Setting[];
  /** Mean of what the engine gave, over all seconds of all points. */
  readonly share: number;
}

/** A sweep down and up on a brake in proportion to speed, second by second, of an engine that wanders. */
function sweep({ white, slow, slow_s }: { readonly white: number; readonly slow: number; readonly slow_s: number }): Made {
  const ways = [92, 82, 72, 62, 52, 42, 52, 62, 72, 82, 92];
  let state = slow * normal();
  const keep = Math.exp(-1 / slow_s);
  const shares: number[] = [];
  const settings = ways.map((w0, i): Setting => {
    const k = T(w0) / w0;
    const seconds = Array.from({ length: APART_s }, (_, s) => {
      state = state * keep + slow * Math.sqrt(1 - keep * keep) * normal();
      const share = 1 + state + white * normal();
      // Where k w = share T(w).
      const w = (0.04 * share) / (k + (0.04 * share) / 120);
      return { t_s: i * APART_s + s, share, w, torque: k * w };
    }).slice(APART_s - POINT_s);
    shares.push(...seconds.map((x) => x.share));
    return { t_s: seconds.map((x) => x.t_s), torque_Nm: seconds.map((x) => x.torque), speed_rad_s: seconds.map((x) => x.w) };
  });
  const mean = (v: readonly number[]): number => v.reduce((s, x) => s + x, 0) / v.length;
  const members = settings.map((s, i): CurveMember => {
    const [torque, w] = [mean(s.torque_Nm), mean(s.speed_rad_s)];
    const torque_Nm = quantity(torque, 'Nm', [{ source: { id: `noise ${i}`, says: 'noise', kind: 'random', shape: 'student', dof: 50 }, c_u: 1e-5 * torque }]);
    return { n: i + 1, speed_rad_s: w, torque_Nm, speed: exact(w * 9.549, 'rpm'), power_W: exact(torque * w, 'W'), branch: 'down', t_s: mean(s.t_s ?? []), override: null, lacks: null };
  });
  return { members: members.toSorted((a, b) => a.speed_rad_s - b.speed_rad_s), settings, share: mean(shares) };
}

describe('what an engine wanders from point to point', () => {
  it.each([
    { white: 0.009, slow: 0.003, slow_s: 300 },
    { white: 0.003, slow: 0.005, slow_s: 120 },
    { white: 0.006, slow: 0.004, slow_s: 150 },
  ])('is in the peak of its mean over the points, neither forgotten nor doubled: $white, $slow over $slow_s s', (wander) => {
    const trials = 60;
    const z: number[] = [];
    let held = 0;
    for (let i = 0; i < trials; i++) {
      const { members, settings, share } = sweep(wander);
      const result = peakPower(withWander(members, settings));
      if (result.state !== 'found') throw new Error(result.state);
      const { power_W } = result.peak;
      const error = power_W.value - share * T(60) * 60;
      z.push(error / u(power_W));
      if (Math.abs(error) <= expanded(power_W).U) held++;
    }
    expect(held / trials).toBeGreaterThan(0.88);
    const sd = Math.sqrt(z.reduce((s, x) => s + x * x, 0) / trials);
    expect(sd).toBeGreaterThan(0.7);
    expect(sd).toBeLessThan(1.25);
  }, 20_000);

  it('is known from many pieces, and correlates points that are near in time', () => {
    const { members, settings } = sweep({ white: 0.003, slow: 0.005, slow_s: 400 });
    const told = withWander(members, settings);
    expect(dof(told[0]?.torque_Nm ?? exact(0, ''))).toBeGreaterThan(8);
    for (const [i, m] of told.entries()) expect(u_random(m.torque_Nm)).toBeGreaterThan(u_random(members[i]?.torque_Nm ?? exact(0, '')));
    // The two slowest lie next to each other at the turn, the two fastest at both ends of the sweep.
    const inTime = told.toSorted((a, b) => (a.t_s ?? 0) - (b.t_s ?? 0)).map((m) => m.torque_Nm);
    const next = correlation(inTime[5] ?? exact(0, ''), inTime[6] ?? exact(0, ''));
    expect(next).toBeGreaterThan(correlation(inTime[0] ?? exact(0, ''), inTime[10] ?? exact(0, '')) + 0.2);
    expect(fitCurve(told).scatter_factor).toBeLessThan(2.2);
    expect(fitCurve(members).scatter_factor).toBeGreaterThan(20);
  });

  it('is what a point has beside the mean of all pieces, so nothing is left of it in that mean', () => {
    const { members, settings } = sweep({ white: 0.003, slow: 0.005, slow_s: 150 });
    // One torque at all points: then every share that is tried is of one size.
    const level = members.map((m) => ({ ...m, torque_Nm: exact(0.02, 'Nm') }));
    const told = withWander(level, settings).map((m) => m.torque_Nm);
    const mean = combine(0, 'Nm', told.map((q) => [q, 1 / told.length] as const));
    expect(u(told[0] ?? exact(0, ''))).toBeGreaterThan(1e-5);
    expect(u(mean)).toBeLessThan(1e-7 * u(told[0] ?? exact(0, '')));
  });

  it('is not made up where the pieces of a point are missing, or there is no common clock', () => {
    const { members, settings } = sweep({ white: 0.003, slow: 0.003, slow_s: 300 });
    expect(withWander(members, [])).toBe(members);
    expect(withWander(members, settings.map(({ torque_Nm, speed_rad_s }) => ({ torque_Nm, speed_rad_s })))).toBe(members);
    const noClock = members.map((m) => ({ ...m, t_s: null }));
    expect(withWander(noClock, settings)).toBe(noClock);
  });
});

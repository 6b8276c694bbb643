import { describe, expect, it } from 'vitest';

import { fitCoast, slowingAt } from '../../../../host/reduce/friction/coast.js';
import { frictionAt, frictionOf, frictionPower_W } from '../../../../host/reduce/friction/friction.js';
import { inertiaByRing, inertiaByThreads, ringInertia } from '../../../../host/reduce/friction/inertia.js';
import { expanded } from '../../../../host/sense/uncertainty/coverage.js';
import { exact, known, u } from '../../../../host/sense/uncertainty/quantity.js';
import { normalsFrom, seeded } from '../../../support/random.js';

const next = seeded(31);
const normal = normalsFrom(next);

interface Wheel {
  readonly I: number;
  readonly a: number;
  readonly b: number;
  readonly c: number;
}
const teasel: Wheel = { I: 2.1e-3, a: 3.5e-3, b: 3e-5, c: 1.5e-7 };

/** Times of whole turns of a wheel that runs out, by small steps of time: another way than that of the fit. */
function turns({ I, a, b, c }: Wheel, w0: number, least_w: number, jitter_s: number, dt = 1e-4): number[] {
  const out: number[] = [];
  let w = w0;
  let angle = 0;
  let passed = 0;
  for (let t = 0; w > least_w; t += dt) {
    const mid = w - ((a + b * w + c * w * w) / I) * (dt / 2);
    const w1 = w - ((a + b * mid + c * mid * mid) / I) * dt;
    const step = ((w + w1) / 2) * dt;
    if (angle + step >= passed * 2 * Math.PI) {
      out.push(t + (dt * (passed * 2 * Math.PI - angle)) / step + jitter_s * normal());
      passed++;
    }
    angle += step;
    w = w1;
  }
  return out;
}

/** As a board tells it. */
const toTick_s = (t_s: number): number => Math.round(t_s * 2e6) / 2e6;

describe('a coast-down', () => {
  it('of constant friction is that of the closed form', () => {
    // angle = w0 t - a t^2 / (2 I)
    const [w0, slow] = [60, 1.4];
    const t = Array.from({ length: 60 }, (_, k) => (w0 - Math.sqrt(w0 * w0 - 2 * slow * 2 * Math.PI * k)) / slow);
    const { best } = fitCoast(t);
    expect(best.terms).toBe(1);
    expect(best.coefficients[0]).toBeCloseTo(slow, 6);
    expect(best.residual_sd_s).toBeLessThan(1e-6);
  });

  it('finds windage also beside much viscous friction, over hundreds of turns from any speed', () => {
    const light: Wheel = { I: 1, a: 1.3098, b: 0.023271, c: 6.3791e-5 };
    // Begun from the turns at its ends alone, the search of the third one ran aground.
    for (const w0 of [102.5, 102.625, 102.75, 102.875, 103]) {
      const { best } = fitCoast(turns(light, w0, 0.102 * w0, 0, 1e-3).map(toTick_s).slice(1));
      expect(best.terms).toBe(3);
      expect(best.residual_sd_s).toBeLessThan(1e-6);
      expect(best.coefficients[0] / light.a).toBeCloseTo(1, 3);
    }
  });

  it('gives dry, viscous and windage friction within what it says', () => {
    let held = 0;
    let z2 = 0;
    const trials = 40;
    for (let i = 0; i < trials; i++) {
      const { best } = fitCoast(turns(teasel, 80, 12, 20e-6));
      const w = 45;
      const friction = frictionOf(best, exact(teasel.I, 'kgm2'), 'coast');
      const truth = teasel.a + teasel.b * w + teasel.c * w * w;
      const said = frictionAt(friction, w);
      if (Math.abs(said.value - truth) <= expanded(said).U) held++;
      z2 += ((said.value - truth) / u(said)) ** 2 / trials;
      expect(said.value / truth).toBeCloseTo(1, 2);
    }
    expect(held).toBeGreaterThanOrEqual(34);
    expect(Math.sqrt(z2)).toBeLessThan(1.4);
  });

  it('is as uncertain as the clock that dated it: dry friction by its square', () => {
    const { best } = fitCoast(turns(teasel, 80, 12, 20e-6));
    const tick = known(0.5, 'us/tick', 0.5 * 0.003, { id: 'clock', says: 'clock', kind: 'systematic' });
    const { coefficients } = frictionOf(best, exact(teasel.I, 'kgm2'), 'coast', tick);
    const share = coefficients.map((q) => (q.parts.find((p) => p.source.id === 'clock')?.c_u ?? 0) / (q.value || 1));
    expect(share[0]).toBeCloseTo(-0.006, 9);
    if (best.terms > 1) expect(share[1]).toBeCloseTo(-0.003, 9);
    expect(share[2]).toBe(0);
  });

  it('gives inertia by a ring, and friction power with it', () => {
    const ring = ringInertia(known(0.25, 'kg', 1e-4, { id: 'm', says: 'mass of the ring', kind: 'systematic' }), exact(0.05, 'm'), exact(0.06, 'm'));
    const heavy: Wheel = { ...teasel, I: teasel.I + ring.value };
    const I = inertiaByRing(fitCoast(turns(teasel, 80, 20, 10e-6)).best, fitCoast(turns(heavy, 80, 20, 10e-6)).best, ring);
    expect(Math.abs(I.value - teasel.I)).toBeLessThan(expanded(I).U + 2e-6);
    expect(u(I) / I.value).toBeLessThan(0.01);
    const power = frictionPower_W(frictionOf(fitCoast(turns(teasel, 80, 20, 10e-6)).best, I, 'coast'), 60);
    expect(power.value).toBeCloseTo((teasel.a + teasel.b * 60 + teasel.c * 3600) * 60, 2);
  });

  it('gives inertia by three threads as the period of a known disc says', () => {
    const [m, R, L, g] = [0.8, 0.06, 0.5, 9.81];
    const I = (m * R * R) / 2;
    const T = 2 * Math.PI * Math.sqrt((I * L) / (m * g * R * R));
    const got = inertiaByThreads(exact(m, 'kg'), exact(g, 'm/s2'), exact(R, 'm'), exact(L, 'm'), known(T, 's', T * 0.001, { id: 'T', says: 'period', kind: 'random' }));
    expect(got.value).toBeCloseTo(I, 12);
    expect(u(got) / I).toBeCloseTo(0.002, 6);
  });

  it('refuses what is no coast-down', () => {
    expect(() => fitCoast([0, 0.1, 0.2])).toThrow(/2 whole turns/);
    expect(() => fitCoast(Array.from({ length: 30 }, (_, k) => k * 0.1))).toThrow(/did not slow down/);
    const same = fitCoast(turns(teasel, 80, 20, 10e-6)).best;
    expect(() => inertiaByRing(same, same, exact(1e-3, 'kgm2'))).toThrow(/no difference/);
    expect(slowingAt(same, 50).rad_s2).toBeGreaterThan(0);
  });
});

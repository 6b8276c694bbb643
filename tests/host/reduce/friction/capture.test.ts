import { describe, expect, it } from 'vitest';

import { coastSettings, findCoasts } from '../../../../host/reduce/friction/capture.js';
import { frictionAt, frictionOf } from '../../../../host/reduce/friction/friction.js';
import { ladder } from '../../../../host/reduce/friction/ladder.js';
import { spanSwing } from '../../../../host/reduce/friction/swing.js';
import { tickOf } from '../../../../host/reduce/values/shaft.js';
import { expanded } from '../../../../host/sense/uncertainty/coverage.js';
import { exact, known, u } from '../../../../host/sense/uncertainty/quantity.js';
import { knowledgeOf, SamplesBench, spanOf, teaselWith, US_PER_TICK, zeroAtTick } from '../values/support/twin.js';

const level = (value: number): object => ({ between: 'step', points: [{ t_s: 0, value }] });
const engine = { inertia_kgm2: 0.0021, friction_dry_Nm: 0.0035, friction_viscous_Nms: 0.00003, friction_windage_Nms2: 0.00000015, torque_curve: [{ speed_rpm: 0, torque_Nm: 0.04 }, { speed_rpm: 1350, torque_Nm: 0 }], cyclic_share: 1.2, hot_lag_s: 45, hot_start: 0, start_rpm: 0 };
const truth = (w: number, { friction_dry_Nm: a, friction_viscous_Nms: b, friction_windage_Nms2: c } = engine): number => a + b * w + c * w * w;
const cold = teaselWith({ engine, programme: { heat: level(0), brake: level(0) } });
const at = (s: number): number => (s * 1e6) / US_PER_TICK;
const knowledge = knowledgeOf({ zeros: [zeroAtTick(3, at(1), -38_150), zeroAtTick(4, at(900), -38_150)] });
const spun = (scenario: typeof cold, seed: number, times: readonly number[], rpm: number, to_s: number): ReturnType<typeof spanOf> => {
  const bench = new SamplesBench(scenario, seed);
  for (const t of times) bench.at(t, { kind: 'flick', speed_rpm: rpm });
  return spanOf(bench.run(to_s));
};
const inertia = known(0.0021, 'kgm2', 0.0021 * 0.002, { id: 'inertia', says: 'inertia', kind: 'systematic' });

describe('coast-downs of the twin', () => {
  const span = spun(cold, 12, [5, 65, 125, 185], 900, 240);
  const { coasts, rejected } = findCoasts(span, knowledge);

  it('are found, one for each time it was spun and let go', () => {
    expect(coasts).toHaveLength(4);
    expect(rejected).toEqual([]);
    for (const c of coasts) {
      expect(c.from_rpm).toBeGreaterThan(850);
      expect(c.to_rpm).toBeLessThan(200);
      expect(c.heat).toBe('cold');
      expect(c.warnings).toEqual([]);
      expect(c.simulated).toBe(true);
    }
  });

  it('give friction within what they say', () => {
    let held = 0;
    for (const [i, c] of coasts.entries()) {
      const friction = frictionOf(c.slowing, inertia, `coast ${i}`, tickOf(span));
      for (const w of [30, 50, 80]) {
        const said = frictionAt(friction, w);
        expect(said.value / truth(w)).toBeCloseTo(1, 1);
        expect(u(said) / said.value).toBeLessThan(0.02);
        if (Math.abs(said.value - truth(w)) <= expanded(said).U) held++;
      }
    }
    expect(held).toBeGreaterThanOrEqual(11);
  });

  it('keep to thresholds that are told', () => {
    const [first] = findCoasts(span, knowledge, coastSettings({ from_rpm: 700, to_rpm: 300 })).coasts;
    expect(first?.from_rpm).toBeLessThan(701);
    expect(first?.from_rpm).toBeGreaterThan(680);
    expect(first?.to_rpm).toBeGreaterThan(299);
    expect(first?.to_rpm).toBeLessThan(320);
    expect(findCoasts(span, knowledge, coastSettings({ from_rpm: 2000 })).rejected[0]?.why).toMatch(/below the threshold of 2000 rpm/);
  });

  it('are none while the brake pulls, and unsure where nobody can say', () => {
    const braked = teaselWith({ engine, programme: { heat: level(0), brake: level(0.5) } });
    const slowed = findCoasts(spun(braked, 3, [5], 900, 60), knowledge);
    expect(slowed.coasts).toEqual([]);
    expect(slowed.rejected[0]?.why).toMatch(/the brake pulled/);
    expect(findCoasts(span, { ...knowledge, calibrations: {} }).coasts[0]?.warnings[0]).toMatch(/brake was off is not known/);
  });

  it('say that a hot engine drives itself', () => {
    const hot = teaselWith({ engine: { ...engine, hot_start: 1 }, programme: { heat: { between: 'step', points: [{ t_s: 0, value: 1 }, { t_s: 20, value: 0 }] }, brake: level(0) } });
    const { coasts: all } = findCoasts(spun(hot, 3, [60], 900, 120), knowledge);
    for (const c of all) expect(c.heat).toBe('hot');
    expect(all[0]?.warnings.join()).toMatch(/own torque is in it/);
  });
});

describe('a ladder of coast-downs', () => {
  it('tells what each rung adds, an inertia that they share mostly cancelling', () => {
    const bare = { ...engine, friction_dry_Nm: 0.001, friction_viscous_Nms: 1e-5 };
    const coastOf = (e: typeof engine, seed: number): ReturnType<typeof frictionOf> => {
      const span = spun(teaselWith({ engine: e, programme: { heat: level(0), brake: level(0) } }), seed, [5], 900, 140);
      const found = findCoasts(span, knowledge).coasts[0];
      if (found === undefined) throw new Error('no coast-down was found');
      return frictionOf(found.slowing, inertia, `coast ${seed}`);
    };
    const steps = ladder([{ rung: 'sealed', friction: coastOf(engine, 1) }, { rung: 'wheel', friction: coastOf(bare, 2) }]);
    expect(steps.map((s) => s.rung)).toEqual(['wheel', 'wheel', 'wheel', 'sealed', 'sealed', 'sealed']);
    expect(steps[0]?.added_Nm).toBeNull();
    const middle = steps[4];
    const added = middle?.added_Nm ?? exact(NaN, 'Nm');
    const w = middle?.speed_rad_s ?? NaN;
    expect(Math.abs(added.value - (truth(w) - truth(w, bare)))).toBeLessThanOrEqual(expanded(added).U);
    const shared = Math.abs(added.parts.find((p) => p.source.id === 'inertia')?.c_u ?? NaN);
    expect(shared).toBeCloseTo(0.002 * added.value, 9);
  });

  it('needs a speed in common', () => {
    const flat = (from: number, to: number): ReturnType<typeof frictionOf> => ({ coefficients: [exact(1, 'Nm'), exact(0, 'Nm'), exact(0, 'Nm')], range_rad_s: [from, to] });
    expect(() => ladder([{ rung: 'wheel', friction: flat(10, 20) }, { rung: 'sealed', friction: flat(30, 40) }])).toThrow(/no speed in common/);
  });
});

describe('swing of speed within the turn', () => {
  it('is not measurable with one magnet, nor with too few', () => {
    const span = spun(cold, 4, [5], 900, 20);
    expect(spanSwing(span, { ...knowledge, magnets: 1 })).toMatchObject({ swing: null, why: expect.stringMatching(/one magnet/) as string });
    expect(spanSwing(span, knowledge)).toMatchObject({ swing: null, why: expect.stringMatching(/4 magnets are too few/) as string });
  });
});

import { describe, expect, it } from 'vitest';

import { SamplesBench } from '../../../firmware/twin/depth/samples.js';
import { expanded } from '../../../host/sense/uncertainty/coverage.js';
import { rigAt, RIGS_A_KIND } from '../coverage/plan.js';
import { engineCurve, truePeak } from './engine_curve.js';
import { planOf } from './plan.js';
import { sessionQuantities, sessionReads } from './trials.js';
import { driveShares } from './truth.js';

describe('a session of the study', () => {
  it('is reduced by the code that ships, each result beside what was', () => {
    const reads = sessionReads(rigAt(11, 0));
    expect(Object.keys(reads)).toEqual(expect.arrayContaining([...sessionQuantities]));
    for (const q of sessionQuantities) {
      const read = reads[q];
      if ('refused' in read) throw new Error(`${q}: ${read.refused}`);
      expect(read.verified, q).toBe(true);
      expect(Math.abs(read.said.value - read.truth), q).toBeLessThan(2 * expanded(read.said).U);
      expect(Math.abs(read.said.value / read.truth - 1), q).toBeLessThan(0.05);
    }
    // Of the same seed the same session.
    expect(planOf(rigAt(11, 0)).scenario).toEqual(planOf(rigAt(11, 0)).scenario);
  }, 60_000);

  it('has for its truth the drive that the twin had', () => {
    const rig = rigAt(12, 3);
    const plan = planOf(rig);
    const bench = new SamplesBench(plan.scenario, rig.seed, { reuse: true });
    const lit_s = 40.25;
    bench.run(lit_s - 1);
    bench.at(lit_s, { kind: 'heat', level: 1 });
    const shares = driveShares(plan, rig.seed, lit_s, 200);
    for (const t of [120.5, 150.5, 180.5]) {
      bench.run(t);
      const { heat_level, power_share } = bench.now();
      expect((shares[Math.floor(t)] ?? NaN) / (heat_level * power_share)).toBeCloseTo(1, 4);
    }
  });

  it('breaks the assumptions in every third kind', () => {
    expect([0, 1, 2].map((k) => rigAt(1, k * RIGS_A_KIND).broken)).toEqual([false, false, true]);
    expect(planOf(rigAt(1, 2 * RIGS_A_KIND)).scenario.rig.cell.glitches_per_h).toBeGreaterThan(0);
  });

  it('knows the peak of a parabola of power', () => {
    const curve = engineCurve({ family: 'straight', speed_rad_s: 60, torque_Nm: 0.03, dry_Nm: 0.003, viscous_Nms: 2e-5, windage_Nms2: 1e-7 });
    const { power_W, speed_rad_s } = truePeak(curve, 1, 60, () => 1);
    const power = (w: number): number => (curve.indicated_Nm(w) - curve.friction_Nm(w)) * w;
    for (let w = 20; w < 110; w += 0.01) expect(power(w)).toBeLessThanOrEqual(power_W + 1e-12);
    expect(power(speed_rad_s)).toBe(power_W);
  });
});

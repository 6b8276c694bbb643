import { describe, expect, it } from 'vitest';

import { rigAt, rigsInAll, RIGS_A_KIND } from './plan.js';
import type { Trial } from './rules.js';
import { trialsOf } from './trials.js';

describe('a rig of the study', () => {
  it('is read in every quantity by the code that ships, and the same again from the same seed', () => {
    const once = (): { trials: Trial[]; refused: string[] } => {
      const trials: Trial[] = [];
      const refused: string[] = [];
      for (const index of [0, 2 * RIGS_A_KIND]) trialsOf(rigAt(3, index), (t) => trials.push(t), (why) => refused.push(why));
      return { trials, refused };
    };
    const first = once();
    expect(first.trials.map((t) => t.quantity)).toEqual(['coolant_difference', 'hot_end', 'speed', 'torque', 'coolant_difference', 'hot_end', 'speed', 'torque']);
    for (const t of first.trials.slice(0, 4)) {
      expect(t.broken).toBe(false);
      expect(Math.abs(t.error)).toBeLessThan(5 * t.u);
      expect(t.U95).toBeGreaterThan(t.u);
    }
    expect(first.trials[4]?.broken).toBe(true);
    expect(once()).toEqual(first);
  });

  it('has a third of its kind break the assumptions', () => {
    const all = rigsInAll(2000);
    const broken = Array.from({ length: all }, (_, i) => rigAt(1, i).broken).filter(Boolean).length;
    expect(all - broken).toBeGreaterThanOrEqual(2000);
    expect(broken / all).toBeCloseTo(1 / 3, 2);
  });
});

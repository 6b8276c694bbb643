import { describe, expect, it } from 'vitest';

import { findChanges } from '../../../../host/reduce/fade/changes.js';
import { wandering } from './made.js';

const wander = { white: 0.3, slow: 0.5, slow_s: 300 };
const settings = { wander, z_least: 5, before_s: 300, back_s: 2400 };

describe('changes of a series that wanders', () => {
  it('are seen within ten minutes where it softens by 5 % in ten minutes, and dated', () => {
    const late: number[] = [];
    for (let seed = 0; seed < 15; seed++) {
      const [change] = findChanges(wandering(wander, 240, seed, (t) => (-5 * Math.max(0, Math.min(600, t - 1500))) / 600), settings);
      expect(change?.size ?? 0, `seed ${seed}`).toBeLessThan(0);
      expect((change?.seen_s ?? Infinity) - 1500, `seed ${seed}`).toBeLessThanOrEqual(600);
      late.push((change?.since_s ?? NaN) - 1500);
    }
    late.sort((a, b) => a - b);
    expect(Math.abs(late[7] as number)).toBeLessThan(120);
  });

  it('are not seen in a sound run', () => {
    for (let seed = 0; seed < 3; seed++) expect(findChanges(wandering(wander, 600, seed), settings)).toEqual([]);
  });

  it('are told as a step where it jumps, one after the other', () => {
    const found = findChanges(wandering(wander, 500, 5, (t) => (t > 1500 ? -4 : 0) + (t > 3500 ? 5 : 0)), settings);
    expect(found.map((c) => c.shape)).toEqual(['step', 'step']);
    expect(found.map((c) => Math.sign(c.size))).toEqual([-1, 1]);
    expect(Math.abs((found[0]?.since_s ?? 0) - 1500)).toBeLessThan(60);
    expect(Math.abs((found[1]?.since_s ?? 0) - 3500)).toBeLessThan(60);
  });

  it('are one where it goes on falling', () => {
    const found = findChanges(wandering(wander, 500, 6, (t) => (-5 * Math.max(0, t - 1500)) / 600), settings);
    expect(found).toHaveLength(1);
    expect(found[0]?.until_s).toBeGreaterThan((found[0]?.seen_s ?? 0) + 600);
  });

  it('rest on nothing that came later', () => {
    const all = wandering(wander, 400, 7, (t) => (t > 1500 ? -3 : 0));
    const [change] = findChanges(all, settings);
    const [same] = findChanges(all.filter((r) => r.t_s <= (change?.seen_s ?? 0)), settings);
    expect(same).toEqual(change);
  });

  it('are not made of noise that is greater than was thought', () => {
    const noisy = { ...wander, white: 1.5 };
    for (let seed = 0; seed < 3; seed++) expect(findChanges(wandering(noisy, 400, seed), settings)).toEqual([]);
  });
});

import { describe, expect, it } from 'vitest';

import { theilSen } from '../../../../host/reduce/fade/theil_sen.js';
import { wandering } from './made.js';

describe('the robust slope', () => {
  it('is the median of all pairs', () => {
    const t = [1, 2, 4, 7, 11];
    const y = [3, 1, 9, 8, 30];
    const slopes = t.flatMap((a, i) => t.slice(i + 1).map((b, j) => ((y[i + 1 + j] as number) - (y[i] as number)) / (b - a))).sort((a, b) => a - b);
    expect(theilSen(t.map((t_s, i) => ({ t_s, value: y[i] as number })))?.per_s).toBeCloseTo(((slopes[4] as number) + (slopes[5] as number)) / 2, 12);
  });

  it('does not mind a quarter of wild readings', () => {
    const readings = Array.from({ length: 80 }, (_, i) => ({ t_s: 10 * i, value: i % 4 === 0 ? 500 - 13 * i : 2 - 0.001 * 10 * i }));
    expect(theilSen(readings)?.per_s).toBeCloseTo(-0.001, 3);
  });

  it('has an interval that holds the truth as often as it says, in noise and in wander', () => {
    for (const wander of [{ white: 0.3, slow: 0, slow_s: 300 }, { white: 0.3, slow: 0.5, slow_s: 300 }]) {
      let held = 0;
      const runs = 200;
      for (let seed = 0; seed < runs; seed++) {
        const slope = theilSen(wandering(wander, 120, seed, (t) => -0.002 * t), wander);
        if (slope !== null && slope.low_per_s <= -0.002 && slope.high_per_s >= -0.002) held++;
      }
      // 95 %, within three standard deviations of 200 draws.
      expect(held / runs).toBeGreaterThan(0.9);
      expect(held / runs).toBeLessThan(0.997);
    }
  });

  it('puts many readings together, and has nothing to say of two', () => {
    const long = Array.from({ length: 5000 }, (_, i) => ({ t_s: 10 * i, value: 3e-5 * i }));
    expect(theilSen(long)?.per_s).toBeCloseTo(3e-6, 12);
    expect(theilSen(long)?.n).toBeLessThanOrEqual(600);
    expect(theilSen(long.slice(0, 2))).toBeNull();
  });
});

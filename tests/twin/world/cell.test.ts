import { describe, expect, it } from 'vitest';
import { Converter } from '../../../firmware/twin/world/bridge.js';
import { Cell } from '../../../firmware/twin/world/cell.js';
import type { CellRig } from '../../../firmware/twin/world/cell.js';
import { randomStream } from '../../../firmware/twin/world/random.js';

const ideal: CellRig = { range_N: 10, slope_counts_per_N: 200_000, zero_counts: 5000, noise_counts: 0, drift_counts_per_h: 0, walk_counts_per_sqrt_h: 0 };
const streams = (seed: number) => (name: string) => randomStream(seed, name);
function cell(over: Partial<CellRig>, { seed = 3, hot_K = 0 } = {}): Cell {
  const of = streams(seed);
  return new Cell({ ...ideal, ...over }, of('cell.noise'), of('cell.walk'), of, () => hot_K);
}
/** Counts beyond the straight line, as a share of the range. */
const beyond = (count: number, force_N: number): number => (count - 5000 - 200_000 * force_N) / 2_000_000;

describe('hysteresis', () => {
  // Cheap bar cells are sold with 0.05 % of range (common practice, no source).
  const share = 0.001;
  const loop = (c: Cell, top_N: number): { up: number[]; down: number[] } => {
    let t_s = 0;
    const at = (i: number): number => beyond(c.convert((t_s += 1), (top_N * i) / 100), (top_N * i) / 100);
    const up = Array.from({ length: 101 }, (_, i) => at(i));
    const down = Array.from({ length: 101 }, (_, i) => at(100 - i)).reverse();
    return { up, down };
  };

  it('closes: each branch begins and ends where the other does, cycle after cycle', () => {
    const c = cell({ hysteresis_share: share });
    const first = loop(c, 10);
    const again = loop(c, 10);
    expect(again).toEqual(first);
    for (const end of [0, 100]) for (const branch of [first.up, first.down]) expect(Math.abs(branch[end] ?? NaN)).toBeLessThan(1e-6);
  });

  it('lies apart by its share half-way, and nowhere by more', () => {
    const { up, down } = loop(cell({ hysteresis_share: share }), 10);
    const apart = up.map((u, i) => (down[i] ?? NaN) - u);
    expect(apart[50]).toBeCloseTo(share, 6);
    expect(Math.max(...apart)).toBeLessThanOrEqual(share + 1e-6);
    expect(Math.min(...apart)).toBeGreaterThan(-1e-6);
  });

  it('makes a small loop as fat for its size as a large one', () => {
    const { up, down } = loop(cell({ hysteresis_share: share }), 2.5);
    const apart = Math.max(...up.map((u, i) => (down[i] ?? NaN) - u));
    expect(apart / (share / 4)).toBeGreaterThan(0.9);
    expect(apart / (share / 4)).toBeLessThan(1.05);
  });

  it('does not ask how fast or in how many steps a branch was gone', () => {
    const slow = cell({ hysteresis_share: share });
    const fast = cell({ hysteresis_share: share });
    for (let i = 0; i <= 1000; i++) slow.convert(i, i / 100);
    fast.convert(0.1, 10);
    for (let i = 0; i <= 500; i++) slow.convert(2000 + i, 10 - i / 100);
    expect(fast.convert(0.2, 5)).toBe(slow.convert(9000, 5));
  });
});

describe('creep', () => {
  // OIML R 60 allows a class C cell 0.7 of its permissible error within 30 minutes, 0.15 of it from 20 to 30.
  const creep = [{ share: 5e-4, time_s: 400 }, { share: 2e-4, time_s: 3000 }];

  it('comes to its shares of the load, and recovers when the load is gone', () => {
    const c = cell({ creep });
    c.convert(0.001, 8);
    const at = (t_s: number, force_N: number): number => beyond(c.convert(t_s, force_N), force_N) / 0.8;
    const from_zero = (t_s: number): number => 5e-4 * (1 - Math.exp(-t_s / 400)) + 2e-4 * (1 - Math.exp(-t_s / 3000));
    expect(at(1800, 8)).toBeCloseTo(from_zero(1800), 6);
    expect(at(1e5, 8)).toBeCloseTo(7e-4, 6);
    expect(at(1e5 + 0.01, 0)).toBeCloseTo(7e-4, 6);
    expect(at(1e5 + 400, 0)).toBeCloseTo(5e-4 * Math.exp(-1) + 2e-4 * Math.exp(-400 / 3000), 5);
    expect(at(2e5, 0)).toBeCloseTo(0, 6);
  });

  it('is the same in one step and in many', () => {
    const one = cell({ creep });
    const many = cell({ creep });
    for (let i = 1; i < 4000; i++) many.convert(i / 4, 8);
    expect(Math.abs(one.convert(1000, 8) - many.convert(1000, 8))).toBeLessThanOrEqual(1);
  });

  it('is of what the bar bears, not of what the converter has seen of it since power-up', () => {
    const converter = new Converter({ rate_nominal_Hz: 10, rate_error: 0 }, cell({ hysteresis_share: 0.01, creep }));
    const counts: number[] = [];
    const hear = (c: { count: number }): number => counts.push(c.count);
    const run = (from_s: number, to_s: number, force_N: number): void => {
      for (let n = Math.round(from_s * 2000); n < to_s * 2000; n++) converter.step(n / 2000, 1 / 2000, force_N, force_N, hear);
    };
    run(0, 3, 9);
    run(3, 5, 6);
    const before = counts.at(-1) ?? NaN;
    converter.powerDown();
    converter.powerUp(5);
    run(5, 6, 6);
    // The branches lie up to 20 000 counts apart: a dip of the filter would have changed from the falling to the rising one.
    expect(Math.abs((counts.at(-1) ?? NaN) - before)).toBeLessThan(10);
  });
});

describe('warmth, curvature, overload', () => {
  it('a warm cell shifts its zero and its slope, behind its lag', () => {
    const warmth = { zero_counts_per_K: 40, slope_share_per_K: 2e-4, hot_share: 0.01, lag_s: 600, room_swing_K: 0, room_swing_period_s: 3600 };
    let hot_K = 0;
    const of = streams(3);
    const c = new Cell({ ...ideal, warmth }, of('cell.noise'), of('cell.walk'), of, () => hot_K);
    expect(c.convert(1, 5)).toBe(1_005_000);
    hot_K = 500;
    c.convert(601, 5);
    const warm_K = 5 * (1 - Math.exp(-1));
    expect(c.above_room_K).toBeCloseTo(warm_K, 9);
    expect(c.convert(601 + 1e-9, 5)).toBe(Math.round(5000 + 40 * warm_K + 1_000_000 * (1 + 2e-4 * warm_K)));
    c.convert(1e6, 0);
    expect(c.convert(1e6 + 1, 0)).toBe(5200);
  });

  it('follows the swing of the air where the lag is short', () => {
    const c = cell({ warmth: { zero_counts_per_K: 100, slope_share_per_K: 0, hot_share: 0, lag_s: 0, room_swing_K: 2, room_swing_period_s: 400 } });
    expect([100, 200, 300].map((t_s) => c.convert(t_s, 0) - 5000)).toEqual([200, 0, -200]);
  });

  it('bends with the square of the force', () => {
    const c = cell({ curvature_counts_per_N2: -30 });
    expect([2, 10].map((f_N, i) => c.convert(i + 1, f_N) - 5000 - 200_000 * f_N)).toEqual([-120, -3000]);
  });

  it('flattens against its stop', () => {
    const c = cell({ stop: { at_N: 12, share: 0.02 } });
    expect([12, 22, -22].map((f_N, i) => c.convert(i + 1, f_N))).toEqual([2_405_000, 2_445_000, -2_435_000]);
  });
});

describe('noise', () => {
  it('keeps its standard deviation with a tail, and has one', () => {
    const c = cell({ noise_counts: 400, noise_tail: { share: 0.02, factor: 6 } });
    const n = 60_000;
    const x = Array.from({ length: n }, (_, i) => c.convert(i / 80, 0) - 5000);
    const sd = Math.sqrt(x.reduce((s, v) => s + v * v, 0) / n);
    const kurtosis = x.reduce((s, v) => s + v ** 4, 0) / n / sd ** 4;
    // Mixture: 3 (1 - p + p k^4) / (1 - p + p k^2)^2 = 27.8.
    const [p, k] = [0.02, 6];
    expect(kurtosis / ((3 * (1 - p + p * k ** 4)) / (1 - p + p * k ** 2) ** 2)).toBeCloseTo(1, 0);
    // The spread of a variance is sqrt((kurtosis - 1) / n).
    expect(Math.abs(sd / 400 - 1)).toBeLessThan((3 / 2) * Math.sqrt(27 / n));
  });

  it('wanders with the spread and the memory that it is told, at any interval', () => {
    for (const dt_s of [0.1, 0.4]) {
      const c = cell({ wander: { counts: 500, time_s: 0.5 } });
      const n = 40_000;
      const x = Array.from({ length: n }, (_, i) => c.convert((i + 1) * dt_s, 0) - 5000);
      const variance = x.reduce((s, v) => s + v * v, 0) / n;
      const lag1 = x.slice(1).reduce((s, v, i) => s + v * (x[i] ?? 0), 0) / n / variance;
      expect(Math.sqrt(variance) / 500).toBeCloseTo(1, 1);
      expect(Math.abs(lag1 - Math.exp(-dt_s / 0.5))).toBeLessThan(0.02);
    }
  });

  it('glitches as often as it is told, below an empty scale, and leaves the other numbers as they were', () => {
    for (const sign of [1, -1]) {
      const rig = { slope_counts_per_N: sign * 200_000, noise_counts: 38 };
      const sound = cell(rig);
      const bad = cell({ ...rig, glitches_per_h: 20 });
      let glitches = 0;
      for (let i = 1; i <= 100 * 3600; i++) {
        const [is, was] = [bad.convert(i / 10, 5), sound.convert(i / 10, 5)];
        if (is === was) continue;
        glitches++;
        expect(sign * (is - 5000)).toBeLessThanOrEqual(-300_000);
      }
      // Ten hours: 200, give or take three square roots.
      expect(Math.abs(glitches - 200)).toBeLessThan(43);
    }
  });
});

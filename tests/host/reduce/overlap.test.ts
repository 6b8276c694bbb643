import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { meansOver, period_ticks } from '../../../host/reduce/overlap.js';

const PERIOD = 25_000;
const samplesOf = (tick: readonly number[], value: readonly number[], bad: readonly number[] = []) => ({
  n: tick.length,
  tick,
  value,
  good: tick.map((_, i) => (bad.includes(i) ? 0 : 1)),
});

describe('means over stretches', () => {
  const tick = Array.from({ length: 400 }, (_, i) => 1e6 + i * PERIOD);

  it('of a constant are that constant, whatever the stretches and holes', () => {
    fc.assert(
      fc.property(fc.uniqueArray(fc.integer({ min: 1_100_000, max: 10_000_000 }), { minLength: 2, maxLength: 20 }), fc.array(fc.nat(399)), (cuts, bad) => {
        const bounds = cuts.toSorted((a, b) => a - b);
        for (const s of meansOver(samplesOf(tick, tick.map(() => 7), bad), bounds, PERIOD, 2 * PERIOD)) {
          if (s.covered > 0) expect(s.mean).toBeCloseTo(7, 9);
          expect(s.covered).toBeLessThanOrEqual(1 + 1e-12);
        }
      }),
      { seed: 4 },
    );
  });

  it('split without loss: the mean of two neighbours, by their lengths, is the mean of both', () => {
    const value = tick.map((t) => Math.sin(t / 1e5));
    const [a, b] = meansOver(samplesOf(tick, value), [2_000_000, 3_333_333, 7_777_777], PERIOD, PERIOD);
    const [whole] = meansOver(samplesOf(tick, value), [2_000_000, 7_777_777], PERIOD, PERIOD);
    expect(((a?.mean ?? 0) * 1_333_333 + (b?.mean ?? 0) * 4_444_444) / 5_777_777).toBeCloseTo(whole?.mean ?? NaN, 12);
  });

  it('over whole turns see nothing of a ripple of which any other stretch would keep A / (pi turns)', () => {
    // Bench practice: a mean over other than whole revolutions errs by up to A / (pi revs).
    const turn = 16.37 * PERIOD;
    const value = tick.map((t) => 1 + Math.sin((2 * Math.PI * (t - 2 * PERIOD)) / turn));
    const from = 2_000_000;
    const [whole] = meansOver(samplesOf(tick, value), [from, from + 10 * turn], PERIOD, 2 * PERIOD);
    const [more] = meansOver(samplesOf(tick, value), [from, from + 10.5 * turn], PERIOD, 2 * PERIOD);
    expect(Math.abs((whole?.mean ?? 0) - 1)).toBeLessThan(0.001);
    expect(Math.abs((more?.mean ?? 0) - 1)).toBeGreaterThan(0.01);
  });

  it('say how much of a stretch nobody measured', () => {
    const gone = tick.filter((_, i) => i < 100 || i >= 200);
    const [s] = meansOver(samplesOf(gone, gone.map(() => 1)), [1e6 + 50 * PERIOD, 1e6 + 250 * PERIOD], PERIOD, 0);
    expect(s?.covered).toBeCloseTo((200 - 100 + 2) / 200, 1);
    expect(period_ticks(gone, gone.length)).toBe(PERIOD);
    expect(period_ticks([1], 1)).toBeNaN();
  });
});

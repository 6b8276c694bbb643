import { describe, expect, it } from 'vitest';

import { BINS, tracesOf } from '../../../host/serve/traces.js';

/** 10 s at 80 conversions a second and 4 magnets at 600 rev/min, in ticks of 1 us, with 5 s either side. */
function rows(): Parameters<typeof tracesOf>[0] {
  const ticks = (step: number): Float64Array<ArrayBuffer> => Float64Array.from({ length: Math.floor(20e6 / step) }, (_, i) => i * step);
  const force = ticks(12_500);
  const edge = ticks(25_000);
  const count = Int32Array.from(force, (t) => (t < 5e6 || t > 15e6 ? 999_999 : 1000 + (t / 12_500) % 2));
  return { simulated: true, tick_from: 5e6, tick_to: 15e6, us_per_tick: 1, magnets: 4, force: { n: force.length, tick: force, count, flags: new Uint8Array(force.length) }, edge: { n: edge.length, tick: edge } };
}

describe('the raw rows of a stretch, for a screen', () => {
  it('are counts and speeds of the stretch alone, least to most', () => {
    const { force_count, speed_rpm, t_s, shown_s } = tracesOf(rows(), 10);
    expect([t_s.length, shown_s, force_count.mean.length]).toEqual([BINS, 10, BINS]);
    expect(Math.max(...force_count.max.map((v) => v ?? 0))).toBe(1001);
    expect(Math.min(...force_count.min.map((v) => v ?? Infinity))).toBe(1000);
    for (const v of speed_rpm.mean) if (v !== null) expect(v).toBeCloseTo(600, 6);
    expect(speed_rpm.mean.filter((v) => v !== null).length).toBeGreaterThan(BINS * 0.9);
  });

  it('have nothing where nothing was recorded', () => {
    const empty = { n: 0, tick: new Float64Array(0) };
    const { force_count, speed_rpm } = tracesOf({ ...rows(), edge: empty, force: { ...empty, count: new Int32Array(0), flags: new Uint8Array(0) } }, 10);
    expect([...force_count.mean, ...speed_rpm.max].every((v) => v === null)).toBe(true);
  });
});

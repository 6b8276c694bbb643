import { describe, expect, it } from 'vitest';

import { rowsInOrder } from '../../../../firmware/twin/depth/block.js';
import { examine, newestOf } from '../../../../host/reduce/points/find_points.js';
import type { Found } from '../../../../host/reduce/points/find_points.js';
import { LivePoints } from '../../../../host/reduce/points/live_points.js';
import { pointSettings } from '../../../../host/reduce/points/point.js';
import type { PointSettings } from '../../../../host/reduce/points/point.js';
import type { Span } from '../../../../host/reduce/span.js';
import { expanded } from '../../../../host/sense/uncertainty/coverage.js';
import { checkAtTick, knowledgeOf, SamplesBench, spanOf, teaselWith, truthOver, US_PER_TICK, zeroAtTick } from '../values/support/twin.js';

const DWELL_s = 200;
const dwells = [0.45, 0.6, 0.75, 0.6, 0.45];
const WARM_s = 420;
const LENGTH_s = WARM_s + dwells.length * DWELL_s;
const programme = {
  heat: { between: 'step', points: [{ t_s: 0, value: 1 }] },
  brake: { between: 'step', points: [{ t_s: 0, value: 0.3 }, ...dwells.map((value, i) => ({ t_s: WARM_s + i * DWELL_s, value }))] },
};
const ticksAt = (s: number): number => (s * 1e6) / US_PER_TICK;
const secondsAt = (tick: number): number => (tick * US_PER_TICK) / 1e6;

const bench = new SamplesBench(
  teaselWith({ programme, faults: [{ kind: 'missed_pulse', t_s: WARM_s + 2.5 * DWELL_s, count: 1 }] }),
  5,
);
const block = bench.run(LENGTH_s);
const span = spanOf(block);
const knowledge = knowledgeOf({ zeros: [zeroAtTick(3, ticksAt(-10), -38_150), zeroAtTick(4, ticksAt(2000), -38_150)], checks: [checkAtTick(5, ticksAt(2050))] });
const found = examine(span, knowledge);

/** The same rows, message by message, asked once a second. */
function live(settings?: PointSettings): Found {
  const clock = { us_per_tick: span.us_per_tick, u_us_per_tick: span.u_us_per_tick, from_utc_us: span.from_utc_us };
  const points = new LivePoints({ boot_id: 1, simulated: true, tick_from: span.tick_from }, clock, knowledge, settings);
  const all: Found[] = [];
  let asked = 0;
  for (const { tick, message } of rowsInOrder(block)) {
    points.message({ boot_id: 1, tick, message });
    if (tick < asked) continue;
    asked = tick + 2e6;
    all.push(points.advance());
  }
  all.push(points.end(newestOf(span)));
  return { points: all.flatMap((f) => f.points), rejected: all.flatMap((f) => f.rejected) };
}

describe('points of a sweep of the twin', () => {
  it('are one for each setting of the brake, down and up', () => {
    expect(found.points.map((p) => p.branch)).toEqual(['up', 'down', 'down', 'down', 'up', 'up']);
    for (const [i, p] of found.points.slice(1).entries()) {
      // Within its dwell, after the speed has settled.
      expect(secondsAt(p.tick_from)).toBeGreaterThan(WARM_s + i * DWELL_s + 3);
      expect(secondsAt(p.tick_from)).toBeLessThan(WARM_s + i * DWELL_s + 40);
      expect(secondsAt(p.tick_to)).toBeLessThan(WARM_s + (i + 1) * DWELL_s + 1.1);
      expect(p.values.duration_s).toBeGreaterThan(DWELL_s - 45);
      expect(p.values.revolutions).toBeGreaterThan(1500);
      expect(p.values.verified).toBe(true);
      expect(p.criteria.every((c) => c.holds)).toBe(true);
    }
  });

  it('hold the truth within their intervals', () => {
    const { force, hot, water } = block;
    for (const p of found.points) {
      const [a, b] = [secondsAt(p.tick_from), secondsAt(p.tick_to)];
      const torque = truthOver(force, force.torque_Nm, a, b);
      const rpm = (truthOver(force, force.speed_rad_s, a, b) * 60) / (2 * Math.PI);
      const [cold_C, warm_C] = [truthOver(water, water.coolant_in_C, a, b), truthOver(water, water.coolant_out_C, a, b)];
      const truths = { torque_Nm: torque, power_W: (torque * rpm * 2 * Math.PI) / 60, hot_C: truthOver(hot, hot.hot_C, a, b), coolant_in_C: cold_C, coolant_out_C: warm_C, coolant_difference_K: warm_C - cold_C, flow_Lpmin: 0.4 };
      for (const [name, truth] of Object.entries(truths)) {
        const { quantity } = p.values[name as keyof typeof truths];
        expect(quantity, name).not.toBeNull();
        if (quantity !== null) expect(Math.abs(quantity.value - truth), `${name} at ${rpm.toFixed(0)}`).toBeLessThan(Math.max(expanded(quantity).U, 1e-6));
      }
      // Its truth is one of conversions, and not of whole turns.
      expect(p.values.speed_rpm.quantity?.value).toBeCloseTo(rpm, 1);
    }
  });

  it('say what was mended in them, and why the rest is none', () => {
    expect(found.points.map((p) => p.values.discarded.missed_edges)).toEqual([0, 0, 0, 1, 0, 0]);
    expect(found.rejected).toHaveLength(1);
    expect(found.rejected[0]?.failing.map((c) => c.name)).toContain('hot_slope_K_per_min');
    expect(found.rejected[0]?.reason).toMatch(/change of the hot end [\d.]+ K\/min, limit 1.5 K\/min/);
  });

  it('are live, message by message, the very same as from the record', () => {
    expect(live()).toEqual(found);
  });

  it('take a stretch that a person names, with the reason, and leave it out of the others', () => {
    const override = { tick_from: ticksAt(100), tick_to: ticksAt(160), reason: 'warm enough for me' };
    const settings = pointSettings({ overrides: [override] });
    const named = examine(span, knowledge, settings);
    const [first, ...others] = named.points;
    expect(first?.override).toBe('warm enough for me');
    expect(first?.criteria.some((c) => !c.holds)).toBe(true);
    expect(first?.tick_from).toBeGreaterThanOrEqual(override.tick_from);
    expect(first?.tick_to).toBeLessThanOrEqual(override.tick_to);
    expect(others.length).toBe(found.points.length);
    expect(live(settings)).toEqual(named);
  });

  it('end at a hole of the edges, and count it', () => {
    const middle = ticksAt(WARM_s + 1.5 * DWELL_s);
    const gone = (tick: number): boolean => tick > middle && tick < middle + 2e7;
    const kept = Array.from(span.edge.tick.subarray(0, span.edge.n)).filter((t) => !gone(t));
    const holed: Span = { ...span, edge: { n: kept.length, tick: Float64Array.from(kept) }, holes: [{ stream: 'edge', tick_from: kept.filter((t) => t <= middle).at(-1) ?? 0, tick_to: kept.find((t) => t > middle) ?? 0, lost: 400 }] };
    const { points } = examine(holed, knowledge);
    expect(points).toHaveLength(found.points.length + 1);
    for (const p of points) expect(p.values.discarded.holes).toBe(0);
    expect(points.some((p) => p.tick_from < middle && p.tick_to > middle)).toBe(false);
  });

  it('are refused settings that make no sense', () => {
    expect(() => pointSettings({ shortest_s: 0 })).toThrow(/shortest_s is 0/);
    expect(() => pointSettings({ gate: { window_s: 1e9 } })).toThrow(/window_s/);
  });
});

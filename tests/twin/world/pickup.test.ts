import { describe, expect, it } from 'vitest';
import { rad_per_s } from '../../../firmware/twin/world/engine.js';
import { Pickup } from '../../../firmware/twin/world/pickup.js';
import type { PickupRig } from '../../../firmware/twin/world/pickup.js';

const dt = 0.0005;
const TURN = 2 * Math.PI;

interface Seen {
  edges: { t_s: number; level: 0 | 1; magnet: number }[];
  missed: { t_s: number; magnet: number }[];
}

/** Drives the pickup along a shaft with constant acceleration from `w0`. */
function drive(rig: PickupRig, w0: number, acceleration: number, t_end_s: number, before?: (p: Pickup, t_s: number, angle: number) => void): Seen {
  const pickup = new Pickup(rig);
  const seen: Seen = { edges: [], missed: [] };
  const sink = {
    edge: (t_s: number, level: 0 | 1, magnet: number) => void seen.edges.push({ t_s, level, magnet }),
    missed: (t_s: number, magnet: number) => void seen.missed.push({ t_s, magnet }),
  };
  for (let i = 0; i < Math.round(t_end_s / dt); i++) {
    const t = i * dt;
    const angle = w0 * t + (acceleration * t * t) / 2;
    before?.(pickup, t, angle);
    pickup.step(t, dt, angle, w0 + acceleration * t, w0 + acceleration * (t + dt), sink);
  }
  return seen;
}

const arrivals = (seen: Seen) => seen.edges.filter((e) => e.level === 0);

describe('dates', () => {
  it('are exact at constant speed, with the magnets where they are', () => {
    const w = rad_per_s(1234.5);
    const error_deg = [0, 1.5, -2, 0.25];
    const seen = drive({ magnets: 4, error_deg, width_deg: 8 }, w, 0, 20);
    const arrived = arrivals(seen);
    const perTurn = 4;
    expect(arrived.length).toBe(Math.floor((w * 20 * 4) / TURN + 0.1));
    arrived.forEach((edge, i) => {
      const n = i + 1; // magnet 1 stands under the pickup at the start and comes first after one turn
      const angle = Math.floor(n / perTurn) * TURN + ((n % perTurn) * TURN) / 4 + ((error_deg[n % perTurn] ?? 0) * TURN) / 360;
      expect(edge.magnet).toBe((n % perTurn) + 1);
      expect(Math.abs(edge.t_s - angle / w)).toBeLessThan(1e-11);
    });
  });

  it('are exact at constant acceleration, from rest and up', () => {
    const acceleration = 3.7;
    const seen = drive({ magnets: 3, error_deg: [], width_deg: 5 }, 0, acceleration, 30);
    const arrived = arrivals(seen);
    expect(arrived.length).toBeGreaterThan(700);
    arrived.forEach((edge, i) => {
      expect(Math.abs(edge.t_s - Math.sqrt((2 * (i + 1) * TURN) / 3 / acceleration))).toBeLessThan(1e-10);
    });
  });

  it('give the width of a magnet between arrival and departure', () => {
    const w = rad_per_s(2000);
    const { edges } = drive({ magnets: 12, error_deg: [], width_deg: 5 }, w, 0, 2);
    for (let i = 0; i + 1 < edges.length; i += 2) {
      expect(edges[i]?.level).toBe(0);
      expect(edges[i + 1]?.level).toBe(1);
      expect((edges[i + 1]?.t_s ?? 0) - (edges[i]?.t_s ?? 0)).toBeCloseTo((5 * TURN) / 360 / w, 11);
    }
  });

  it('rise, however long it has run', () => {
    const w = rad_per_s(2000);
    const { edges } = drive({ magnets: 12, error_deg: [], width_deg: 5 }, w, 0, 60);
    expect(edges.every((e, i) => i === 0 || e.t_s > (edges[i - 1]?.t_s ?? 0))).toBe(true);
    expect(arrivals({ edges, missed: [] })).toHaveLength(24_000);
  });

  it('mirror themselves when the shaft turns back', () => {
    const turning = drive({ magnets: 2, error_deg: [], width_deg: 10 }, 20, -10, 4);
    const there = turning.edges.filter((e) => e.t_s < 2);
    there.reverse();
    const back = turning.edges.filter((e) => e.t_s > 2);
    // Out to 20 rad at 2 s and back to 0 at 4 s: every bound is passed twice, at equal distance from the turn.
    expect(there.length).toBeGreaterThan(8);
    for (const [i, edge] of there.entries()) {
      expect(back[i]?.level).toBe(edge.level === 0 ? 1 : 0);
      expect((back[i]?.t_s ?? 0) - 2).toBeCloseTo(2 - edge.t_s, 9);
    }
  });
});

describe('faults', () => {
  const w = rad_per_s(600);
  const rig = { magnets: 1, error_deg: [], width_deg: 8 };
  const once = (what: (p: Pickup, angle: number) => void) => {
    let done = false;
    return (p: Pickup, t: number, angle: number): void => {
      if (t < 1.05 || done) return;
      done = true;
      what(p, angle);
    };
  };
  const gaps = (seen: Seen) => arrivals(seen).map((e, i, all) => Math.round(((e.t_s - (all[i - 1]?.t_s ?? 0)) / 0.1) * 1e6) / 1e6);

  it('a missed pulse doubles one interval and is told', () => {
    const seen = drive(rig, w, 0, 2, once((p) => p.missPulses(1)));
    expect(gaps(seen).filter((g) => g !== 1)).toEqual([2]);
    expect(seen.missed).toHaveLength(1);
    expect(seen.missed[0]?.t_s).toBeCloseTo(1.1, 9);
  });

  it('a double pulse makes one interval into two that add up to it', () => {
    const seen = drive(rig, w, 0, 2, once((p) => p.doublePulses(1, 0.0007)));
    const odd = gaps(seen).filter((g) => g !== 1);
    expect(odd).toHaveLength(2);
    expect((odd[0] ?? 0) + (odd[1] ?? 0)).toBeCloseTo(1, 6);
    const width_s = (8 * TURN) / 360 / w;
    expect((odd[0] ?? 0) * 0.1).toBeCloseTo(width_s + 0.0007, 6);
    expect(seen.edges.every((e, i) => e.level === (i % 2 === 0 ? 0 : 1))).toBe(true);
  });

  it('a magnet that slips makes one odd interval, then the old one again', () => {
    const seen = drive(rig, w, 0, 2, once((p, angle) => p.slip(1, 36, angle)));
    expect(gaps(seen).filter((g) => g !== 1)).toEqual([1.1]);
  });
});

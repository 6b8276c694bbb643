import { describe, expect, it } from 'vitest';

import { markEdges } from '../../../../host/sense/wheel/batch.js';
import { firstMagnet } from '../../../../host/sense/wheel/first_magnet.js';
import { learnSectors, speedModel } from '../../../../host/sense/wheel/learn.js';
import { turnSeen } from '../../../../host/sense/wheel/shares.js';
import { cyclicSwing } from '../../../../host/sense/wheel/swing.js';
import { u } from '../../../../host/sense/uncertainty/quantity.js';
import { normals, US_PER_TICK } from './support.js';

const TURN = 2 * Math.PI;

/** Ticks at which magnets at these turns are passed by a shaft of a given angle over time (turns), found by bisection. */
function passings(at: readonly number[], turns: number, turnsAt: (t_s: number) => number, jitter_us: () => number = () => 0, from = 0): number[] {
  const ticks: number[] = [];
  let low = 0;
  for (let turn = 0; turn < turns; turn++) {
    for (const place of at) {
      const wanted = from + turn + place;
      let a = low;
      let b = low + 1;
      while (turnsAt(b) < wanted) b += 1;
      for (let i = 0; i < 55; i++) {
        const mid = (a + b) / 2;
        if (turnsAt(mid) < wanted) a = mid;
        else b = mid;
      }
      low = a;
      ticks.push(Math.floor((a * 1e6 + 1e6 + jitter_us()) / US_PER_TICK));
    }
  }
  return ticks;
}

const places = [0, 0.17, 0.26, 0.5, 0.69, 0.82];
const shares = places.map((p, k) => (places[k + 1] ?? 1) - p);
/** 15 rev/s, slowing by half a rev/s every second. */
const coast = (t_s: number): number => 15 * t_s - 0.25 * t_s * t_s;

describe('sectors learned on a spin', () => {
  it('are right on a coast-down, where the plain share of the time is not', () => {
    const learned = learnSectors(passings(places, 100, coast), 6, US_PER_TICK);
    for (const [k, share] of learned.sector_share.entries()) expect(Math.abs(share - (shares[k] as number))).toBeLessThan(2e-6);
    expect(learned.sector_share.reduce((a, b) => a + b)).toBeCloseTo(1, 12);
    expect(learned.swing_excluded).toBe(true);
    expect(learned.speed_rpm[0]).toBeLessThan(700);
  });

  it('have the uncertainty that repeated spins show', () => {
    const errors: number[] = [];
    const stated: number[] = [];
    for (let seed = 1; seed <= 60; seed++) {
      const normal = normals(seed);
      const learned = learnSectors(passings([0, 0.5], 40, coast, () => 20 * normal()), 2, US_PER_TICK);
      errors.push((learned.sector_share[0] as number) - 0.5);
      stated.push(learned.u_each[0] as number);
    }
    const sd = Math.sqrt(errors.reduce((s, e) => s + e * e, 0) / errors.length);
    const mean = stated.reduce((s, x) => s + x, 0) / stated.length;
    expect(sd / mean).toBeGreaterThan(0.8);
    expect(sd / mean).toBeLessThan(1.2);
  });

  it.each([
    ['too short', passings(places, 15, coast), /8 whole revolutions/],
    ['not smooth', passings(places, 60, coast, ((n) => () => 300 * n())(normals(3))), /scatter by/],
    ['pulled at once a turn, which weighs more as it slows', passings(places, 200, (t) => coast(t) + 6e-6 * (15 - 0.5 * t) ** -2 * 225 * 10 * Math.sin(TURN * coast(t)), undefined, 0.1), /pulls at it once a turn/],
    ['without every 31st edge', passings(places, 60, coast).filter((_, i) => i % 31 !== 30), /missing or extra/],
  ])('are refused where the spin is %s', (_, ticks, why) => {
    expect(() => learnSectors(ticks, 6, US_PER_TICK)).toThrow(why);
  });

  it('do not exclude a swing that had no chance to show', () => {
    expect(learnSectors(passings(places, 40, (t) => 10 * t), 6, US_PER_TICK).swing_excluded).toBe(false);
  });

  it('make a calibration, and one of whole revolutions alone without them', () => {
    const learned = learnSectors(passings(places, 60, coast), 6, US_PER_TICK);
    expect(speedModel(6, learned)).toMatchObject({ kind: 'magnets', magnets: 6, sector_share: learned.sector_share });
    expect(speedModel(4, learned)).toMatchObject({ sector_share: null, u_sector_share: null });
  });
});

describe('after a restart', () => {
  const model = speedModel(6, learnSectors(passings(places, 60, coast), 6, US_PER_TICK));

  it.each([0, 1, 2, 3, 4, 5])('the first magnet is found again, though the engine swings within the turn (it begins at %i)', (first) => {
    const turned = places.map((_, k) => (((places[(k + first) % 6] as number) - (places[first] as number) + 1) % 1));
    const running = (t: number): number => 8 * t + 0.004 * Math.sin(TURN * 8 * t);
    const edges = markEdges(passings(turned, 50, running), 6, US_PER_TICK);
    const seen = turnSeen(edges, US_PER_TICK);
    expect(seen).not.toBeNull();
    if (seen === null) return;
    const found = firstMagnet(seen, model);
    // The stretch begins at a magnet of its own.
    const begun = edges.stretch.findIndex((s) => s === 0) % 6;
    expect(found).toEqual({ state: 'found', first: (first + begun) % 6 });
  });

  it('is ambiguous on an even wheel, and not learned on another', () => {
    const even = places.map((_, k) => k / 6);
    const normal = normals(11);
    const ticks = passings(even, 60, coast, () => 5 * normal());
    const seen = turnSeen(markEdges(ticks, 6, US_PER_TICK), US_PER_TICK);
    if (seen === null) throw new Error('nothing seen');
    expect(firstMagnet(seen, speedModel(6, learnSectors(ticks, 6, US_PER_TICK)))).toMatchObject({ state: 'ambiguous', first: null });
    expect(firstMagnet(seen, speedModel(6))).toMatchObject({ state: 'not_learned' });
  });

  it('the swing within a turn is told with its uncertainty, and not at all with one magnet', () => {
    // Speed 8 (1 + 0.1 cos) rev/s: greatest less least over the mean is 0.2, and the sectors pass their share of it.
    const running = (t: number): number => 8 * t + (0.1 / TURN) * Math.sin(TURN * 8 * t);
    const ticks = passings(places, 50, running);
    const seen = turnSeen(markEdges(ticks, 6, US_PER_TICK), US_PER_TICK);
    const speeds = shares.map((share, k) => share / ((ticks[k + 1] as number) - (ticks[k] as number)));
    const expected = ((Math.max(...speeds) - Math.min(...speeds)) * ((ticks[6] as number) - (ticks[0] as number)));
    const { swing, passes } = cyclicSwing(seen, model, 'boot 1');
    expect(expected).toBeGreaterThan(0.15);
    expect(swing?.value).toBeCloseTo(expected, 4);
    expect(swing === null ? 1 : u(swing)).toBeLessThan(0.002);
    expect(passes).toBeCloseTo(0.955, 3);
    expect(cyclicSwing(seen, speedModel(1), 'boot 1')).toMatchObject({ swing: null, why: 'one magnet a revolution shows no swing within it' });
    expect(cyclicSwing(seen, speedModel(6), 'boot 1').why).toMatch(/not learned/);
  });
});

import { describe, expect, it } from 'vitest';

import { randomStream, type RandomStream } from '../../../../firmware/twin/world/random.js';
import { chooseDegree, type DegreeChoice } from '../../../../host/sense/fit/choose.js';

/** n loads from 0 to 1, up and down; a line with a curvature (largest departure from its best line) and noise of 1. */
const loads = (n: number): number[] => Array.from({ length: n }, (_, i) => i / (n - 1));
const readings = (x: readonly number[], curvature: number, random: RandomStream): number[] => x.map((v) => 5 + 1000 * v + 8 * curvature * v * v + random.normal());
const trials = (count: number, n: number, curvature: number, options = {}): DegreeChoice[] => {
  const random = randomStream(31, `choose ${n} ${curvature}`);
  const x = loads(n);
  return Array.from({ length: count }, () => chooseDegree(x, readings(x, curvature, random), options));
};
const share = (choices: readonly DegreeChoice[], of: (c: DegreeChoice) => boolean): number => choices.filter(of).length / choices.length;

describe('the choice between straight line and quadratic', () => {
  it('sees a curvature that matters, in four of five with as many points as it says are needed', () => {
    const [{ n_needed } = { n_needed: null }] = trials(1, 12, 0);
    expect(n_needed).toBeGreaterThan(12);
    expect(n_needed).toBeLessThan(60);
    // With its own scatter known exactly: as many as the theory of the F test says.
    const counts = trials(200, 30, 0).map((c) => c.n_needed ?? 0);
    const usual = counts.toSorted((a, b) => a - b)[100] ?? 0;
    const seen = share(trials(1000, usual, 1), (c) => (c.p ?? 1) < 0.05);
    expect(seen).toBeGreaterThan(0.75);
    expect(seen).toBeLessThan(0.87);
  });

  it('takes a straight response for curved in fewer than one of twenty', () => {
    for (const n of [6, 12, 40]) {
      const choices = trials(1000, n, 0);
      expect(share(choices, (c) => (c.p ?? 1) < 0.05)).toBeLessThan(0.068);
      expect(share(choices, (c) => c.reason === 'curved')).toBeLessThan(0.068);
    }
  });

  it('is a quadratic when it is plain, with no more left for the curvature', () => {
    for (const choice of trials(50, 12, 20)) {
      expect(choice).toMatchObject({ degree: 2, reason: 'curved', u_left_y: 0, n: 12 });
      expect(choice.fit).toBe(choice.quadratic);
      expect(choice.says).toMatch(/^Quadratic: the 12 points show a curvature of [\d.]+ % of the span \(F [\d.e+]+, p [\d.e-]+\)/);
    }
  });

  it('knows the curvature, its uncertainty and its bound', () => {
    for (const curvature of [0, 0.5, -5]) {
      const choices = trials(1000, 10, curvature);
      const mean = choices.reduce((sum, c) => sum + (c.curvature.y ?? 0), 0) / choices.length;
      const sd = Math.sqrt(choices.reduce((sum, c) => sum + ((c.curvature.y ?? 0) - curvature) ** 2, 0) / choices.length);
      const stated = Math.sqrt(choices.reduce((sum, c) => sum + (c.curvature.u_y ?? 0) ** 2, 0) / choices.length);
      expect(Math.abs(mean - curvature)).toBeLessThan(0.08);
      expect(stated / sd).toBeGreaterThan(0.93);
      expect(stated / sd).toBeLessThan(1.07);
      expect(share(choices, (c) => Math.abs(curvature) <= (c.bound_y ?? 0))).toBeGreaterThan(0.94);
    }
  });

  it('stays straight where a curvature is seen that is smaller than the scatter', () => {
    const choices = trials(100, 400, 0.5);
    expect(share(choices, (c) => c.reason === 'curved_too_little')).toBeGreaterThan(0.9);
    for (const c of choices.filter(({ reason }) => reason === 'curved_too_little')) {
      expect(c.degree).toBe(1);
      expect(c.says).toContain('which is more');
      expect(c.u_left_y).toBeGreaterThan(0.1);
    }
  });

  it('says straight only where it would have seen a curvature that matters', () => {
    const choices = trials(200, 60, 0);
    expect(share(choices, (c) => c.reason === 'straight')).toBeGreaterThan(0.9);
    for (const c of choices.filter(({ reason }) => reason === 'straight')) expect(c.n_needed).toBeLessThanOrEqual(60);
    expect(share(trials(200, 8, 0), (c) => c.reason === 'straight')).toBe(0);
  });

  it('leaves a straight line the uncertainty of what it misses', () => {
    // Readings drawn anywhere in the span of the loads; the line through points without noise shows its misses alone.
    const x = loads(21);
    const curved = (v: number): number => 5 + 1000 * v + 8 * 3 * v * v;
    const choice = chooseDegree(x, x.map(curved), { degree: 1 });
    const grid = Array.from({ length: 1000 }, (_, i) => (i + 0.5) / 1000);
    const missed = Math.sqrt(grid.reduce((sum, v) => sum + (curved(v) - ((choice.fit.coefficients[0] ?? 0) + (choice.fit.coefficients[1] ?? 0) * v)) ** 2, 0) / grid.length);
    expect(choice.reason).toBe('asked');
    expect((choice.u_left_y ?? 0) / missed).toBeCloseTo(1, 3);
    expect(choice.curvature.y).toBeCloseTo(3, 9);
    expect(choice.curvature_of_span).toBeCloseTo(3 / 1024, 9);
  });

  it('cannot tell from three points, and has all that they may hide in the budget', () => {
    const choice = chooseDegree([0, 1, 2], [0, 10.1, 20]);
    expect(choice).toMatchObject({ degree: 1, reason: 'cannot_tell', F: null, p: null });
    // The middle is 0.1 off the chord, so 0.05 off the best line.
    expect(choice.curvature.y).toBeCloseTo(-0.05, 9);
    expect(choice.bound_y).toBeGreaterThan(0.05);
    expect(choice.u_left_y).toBeGreaterThan(0);
    expect(choice.u_left_dof).toBe(1);
    expect(choice.says).toContain('the 3 points cannot tell');
    expect(choice.says).toContain('no point is left over');
    // The scatter known from settled readings makes it narrower.
    const known = chooseDegree([0, 1, 2], [0, 10.1, 20], { noise_sd: 0.01 });
    expect(known.bound_y ?? 1).toBeLessThan((choice.bound_y ?? 0) / 2);
    expect(known.u_left_dof).toBe(Infinity);
  });

  it('has no bound with two loads, but that of a data sheet', () => {
    const bare = chooseDegree([0, 0, 1, 1], [0, 0.1, 1, 1.1]);
    expect(bare).toMatchObject({ degree: 1, reason: 'cannot_tell', quadratic: null, bound_y: null, u_left_y: null });
    expect(bare.says).toContain('measure at three different loads or more');
    const sheet = chooseDegree([0, 0, 1, 1], [0, 0.1, 1, 1.1], { nonlinearity_y: 0.03 });
    expect(sheet.u_left_y).toBeGreaterThan(0);
    expect(sheet.u_left_y).toBeLessThan(0.03);
    expect(() => chooseDegree([0, 0, 1, 1], [0, 0.1, 1, 1.1], { degree: 2 })).toThrow('it needs 3 different loads');
    expect(() => chooseDegree([1, 1], [0, 0.1])).toThrow('it needs 2 different loads');
  });

  it('weighs a data sheet against the points', () => {
    const x = loads(8);
    const y = readings(x, 0, randomStream(8, 'sheet'));
    const alone = chooseDegree(x, y);
    const tight = chooseDegree(x, y, { nonlinearity_y: 0.01 });
    const loose = chooseDegree(x, y, { nonlinearity_y: 1e6 });
    expect(tight.bound_y ?? 1).toBeLessThan(0.02);
    expect((loose.bound_y ?? 0) / (alone.bound_y ?? 1)).toBeCloseTo(1, 6);
    expect((loose.u_left_y ?? 0) / (alone.u_left_y ?? 1)).toBeCloseTo(1, 6);
    // What the choice rests on does not move: it is what the points say.
    expect(tight).toMatchObject({ F: alone.F, p: alone.p, reason: alone.reason });
  });

  it('takes the rounding of a computer for no curvature', () => {
    const x = loads(11).map((v) => 0.1 * v);
    for (const slope of [1, 0.3, 1e6, -7]) {
      const choice = chooseDegree(x, x.map((v) => slope * v + 0.1));
      expect(choice.degree).toBe(1);
      expect(choice.p).toBeGreaterThan(0.9);
    }
    expect(chooseDegree(x, x.map((v) => v + 1e-4 * v * v)).reason).toBe('curved');
    expect(chooseDegree([0, 1, 2, 3], [0, 0, 0, 0])).toMatchObject({ degree: 1, curvature_of_span: null });
  });

  it('goes by degree where one is asked for, and says what the points say', () => {
    const [straight] = trials(1, 12, 20, { degree: 1 });
    expect(straight).toMatchObject({ degree: 1, reason: 'asked' });
    expect(straight?.u_left_y).toBeGreaterThan(10);
    expect(straight?.says).toMatch(/^Straight line, as asked: .*may be there and is in the budget\.$/);
    const [curved] = trials(1, 12, 0, { degree: 2 });
    expect(curved).toMatchObject({ degree: 2, reason: 'asked', u_left_y: 0 });
  });
});

import { describe, expect, it } from 'vitest';

import { earlyText, intervalOf, intervalText } from '../../host/page/src/screens/builds/interval.js';
import type { Judged } from '../../host/page/src/screens/builds/interval.js';
import { buildLine, differenceText, partBody } from '../../host/page/src/screens/builds/view.js';

const fields = { material: 'graphite', mass: '', dimensions: '', note: '', photo: '', made_by: '', made_on: '', piece: '' };

describe('the ledger', () => {
  it('tells a build in one line', () => {
    expect(buildLine({ build_id: 1, name: 'B', copied_from: 'A', parts: 3, mass_g: 41.25, parts_weighed: 2, runs: 1, turning_h: 2, current: 0, note: '', archived: 0 })).toBe('3 parts, 41.25 g (2 of them weighed), 1 run, has turned 2 h 0 min, from A');
  });

  it('tells what differs in the words of the part', () => {
    expect(differenceText({ part: 'displacer', what: 'mass_g', before: 12.5, after: null })).toBe('displacer: mass 12.5 g \u2192 not told');
    expect(differenceText({ part: 'piston', what: 'material', before: 'brass', after: 'graphite' })).toBe('piston: material brass \u2192 graphite');
    expect(differenceText({ part: 'pin', what: 'removed', before: 'steel', after: null })).toBe('pin: taken out');
  });

  it('takes a mass in grams with point or comma, none, and no nonsense', () => {
    expect(partBody({ ...fields, mass: '12,5 g' })).toMatchObject({ told: { mass_g: 12.5 } });
    expect(partBody(fields)).toEqual({ told: { material: 'graphite', mass_g: null, dimensions: '', note: '', photo: '', made_by: '', made_on: '' } });
    for (const mass of ['0', '-3', 'heavy']) expect(partBody({ ...fields, mass })).toHaveProperty('wrong');
    expect(partBody({ ...fields, piece: 'new' })).toMatchObject({ told: { piece: 'new' } });
  });
});

describe('the picture of a verdict', () => {
  const judged: Judged = { word: 'better', difference: 0.12, interval95: [0.05, 0.19], interval_of_plan: [0.01, 0.24], margin: 0.05 };

  it('has everything in its order on the line', () => {
    const i = intervalOf(judged, 0, 700);
    const order = [i.same[0], i.zero, i.of_plan?.[0] ?? 0, i.within[0], i.at, i.within[1], i.of_plan?.[1] ?? 0];
    expect(order).toEqual(order.toSorted((a, b) => a - b));
    expect(i.same[1]).toBeCloseTo(i.within[0], 9);
    expect(i.zero - i.same[0]).toBeCloseTo(i.same[1] - i.zero, 9);
    expect(i.ticks.find((t) => t.percent === 0)?.at).toBeCloseTo(i.zero, 9);
  });

  it('stays on the line, with few ticks, when nothing can be told', () => {
    const i = intervalOf({ word: 'cannot_tell', difference: 0.3, interval95: [-0.97, 60], interval_of_plan: null, margin: 0.05 }, 20, 680);
    for (const at of [i.zero, ...i.same, ...i.within, i.at, ...i.ticks.map((t) => t.at)]) {
      expect(at).toBeGreaterThanOrEqual(20);
      expect(at).toBeLessThanOrEqual(680);
    }
    expect(i.ticks.length).toBeLessThan(13);
  });

  it('is told in words', () => {
    expect(intervalText(judged, 'A', 'B')).toBe('B against A: better. Difference +12.0 %, 95 % interval +5.0 % to +19.0 %; the same counts from \u22125.0 % to +5.0 %.');
  });

  it('is not drawn before anything can be compared: what is known is told instead', () => {
    const early = { word: 'cannot_tell', difference: 0.2, interval95: null } as const;
    const runs = { a: [{ name: 'r1', result: 1.0312, U95: 0.021 }], b: [{ name: 'r2', result: 1.2374, U95: 0.025 }] };
    expect(earlyText(early, { a: 'old', b: 'wool', runs, measure: 'peak_power_W' })).toEqual(['old, peak power: 1.031 \u00b1 0.021 W (r1).', 'wool, peak power: 1.237 \u00b1 0.025 W (r2).', 'So far +20.0 %, without an interval.']);
    expect(earlyText({ ...early, difference: null }, { a: 'old', b: 'wool', runs: { ...runs, b: [] }, measure: 'peak_torque_Nm' })[1]).toBe('wool: no run with this result yet.');
  });
});

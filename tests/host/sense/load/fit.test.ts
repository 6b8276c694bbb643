import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { SmallbrakeError } from '../../../../host/errors.js';
import { fitLoad } from '../../../../host/sense/load/fit.js';
import type { LoadFitOptions } from '../../../../host/sense/load/fit.js';
import type { Direction, LoadPoint } from '../../../../host/sense/load/point.js';
import { readPoints } from '../../../../host/sense/load/points_file.js';
import { normals } from './support/cell.js';

const at = (load: number, count: number, direction: Direction = null): LoadPoint => ({ load, count, direction });
const codeOf = (act: () => unknown): { code: string; message: string } => {
  try {
    act();
  } catch (thrown) {
    if (thrown instanceof SmallbrakeError) return { code: thrown.code, message: thrown.message };
    throw thrown;
  }
  throw new Error('nothing was refused');
};
const noisy = (seed: number): LoadPoint[] => {
  const noise = normals(seed);
  return [0, 1, 2, 3, 4, 5, 4, 3, 2, 1, 0].map((load, i) => at(load, 100 + 5000 * load + 20 * noise(), i < 6 ? 'up' : 'down'));
};

describe('points of a load cell', () => {
  it.each<[string, LoadPoint[], LoadFitOptions, RegExp]>([
    ['none', [], {}, /there are none/],
    ['one load', [at(1, 1), at(1, 2)], {}, /all loads are 1/],
    ['one count', [at(1, 7), at(2, 7)], {}, /all counts are 7/],
    ['a number that is none', [at(1, NaN), at(2, 7)], {}, /point 1/],
    ['saturated', [at(0, 1), at(1, 8388607)], {}, /end of the converter/],
    ['overload', [at(0, 1), at(12, 2)], { capacity: 10 }, /rated for 10/],
    ['two masses, guided', [at(0, 0), at(1, 10), at(2, 20)], { purpose: 'guided' }, /at least 3/],
    ['no zero, guided', [at(1, 10), at(2, 20), at(3, 30)], { purpose: 'guided' }, /without a load/],
    ['up that goes down, guided', [at(0, 0), at(3, 30, 'up'), at(2, 20, 'up'), at(1, 10, 'down')].map((p, sequence) => ({ ...p, sequence })), { purpose: 'guided' }, /2 is called up, but it came after 3/],
    ['both sides, guided', [at(0, 0), at(1, 10), at(2, 20), at(-3, -30)], { purpose: 'guided' }, /both signs/],
    ['wrong sign', [at(0, 0), at(1, -10), at(2, -20)], { sign: 1 }, /falls with the load/],
  ])('are refused: %s', (_, points, options, why) => {
    const { code, message } = codeOf(() => fitLoad(points, options));
    expect(code).toBe('LOAD_UNFIT');
    expect(message).toMatch(why);
  });

  it('are refused where a quadratic was asked for and two loads are there', () => {
    expect(codeOf(() => fitLoad([at(0, 0), at(1, 1), at(1, 1.1)], { degree: 2 })).code).toBe('FIT_IMPOSSIBLE');
  });

  it('show the loop, interpolated where loads differ', () => {
    const same = fitLoad([at(0, 0, 'up'), at(1, 98, 'up'), at(2, 200, 'up'), at(1, 102, 'down'), at(0, 0, 'down')], { degree: 1 });
    expect(same.hysteresis?.max.count).toBeCloseTo(4, 9);
    expect(same.hysteresis?.max.load).toBeCloseTo(0.04, 3);
    const between = fitLoad([at(0, 0, 'up'), at(1, 98, 'up'), at(3, 298, 'up'), at(4, 400, 'up'), at(2, 202, 'down'), at(0, 0, 'down')], { degree: 1 });
    expect(between.hysteresis?.at_load).toBe(2);
    expect(between.hysteresis?.max.count).toBeCloseTo(4, 9);
    expect(fitLoad([at(0, 0), at(1, 100)]).hysteresis).toBeNull();
  });

  it('show repeatability, zero return and creep', () => {
    const fit = fitLoad([at(0, 10), at(1, 108), at(1, 112), at(2, 210), { ...at(0, 13) }].map((p, i) => ({ ...p, t_s: 10 * i })), { degree: 1 });
    expect(fit.repeatability?.count).toBeCloseTo(Math.sqrt(8), 9);
    expect(fit.repeatability?.dof).toBe(1);
    expect(fit.zero_return?.count).toBe(3);
    expect(fit.creep).toMatchObject({ count: 4, over_s: 10, at_load: 1 });
  });

  it('give the same physics whatever the unit of the load and the gain and offset of the counts', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 1000 }), fc.double({ min: 1e-3, max: 1e3, noNaN: true }), fc.constantFrom(-3, -1, 0.5, 1, 7), fc.integer({ min: -1e6, max: 1e6 }), (seed, unit, gain, offset) => {
        const points = noisy(seed);
        const one = fitLoad(points);
        const other = fitLoad(points.map((p) => ({ ...p, load: p.load * unit, count: p.count * gain + offset })));
        expect(other.degree).toBe(one.degree);
        expect((other.mean_slope * unit) / gain / one.mean_slope).toBeCloseTo(1, 8);
        expect((other.residual_sd ?? 0) / Math.abs(gain) / (one.residual_sd ?? 1)).toBeCloseTo(1, 5);
        expect((other.lower_limit.sd_y ?? 0) / Math.abs(other.mean_slope) / unit).toBeCloseTo((one.lower_limit.sd_y ?? 0) / one.mean_slope, 5);
        expect(other.hysteresis?.max.share).toBeCloseTo(one.hysteresis?.max.share ?? 0, 7);
      }),
      { numRuns: 60, seed: 11 },
    );
  });

  it('show their bend in spite of a loop', () => {
    const noise = normals(2);
    const points = [0, 1, 2, 3, 4, 5, 4, 3, 2, 1, 0].map((load, i) => at(load, 5000 * load + 4 * load * load + (i < 6 ? -1 : 1) * 8 * load * (5 - load) + 0.3 * noise(), i < 6 ? 'up' : 'down'));
    expect(fitLoad(points).choice.reason).toBe('curved');
    expect(fitLoad(points.map((p) => ({ ...p, direction: null }))).choice.reason).not.toBe('curved');
  });
});

describe('a file of points', () => {
  it('may have a BOM, CRLF, blanks, remarks, exponents and no direction', () => {
    const text = '\uFEFF# of a bench\r\n Load , counts,DIRECTION \r\n\r\n0, 1.5e3, up # zero\r\n +1E-1,2000,\r\n.5, -7 ,Down\r\n';
    expect(readPoints(text, 'f')).toEqual([at(0, 1500, 'up'), at(0.1, 2000), at(0.5, -7, 'down')]);
  });

  it.each([
    ['', 1, /first line must be/],
    ['a,b\n1,2', 1, /first line must be/],
    ['load,counts\n1,2\n1,5,200', 3, /decimals with a point/],
    ['load,counts\n1;200', 2, /separate them with a comma/],
    ['load,counts\n1', 2, /must have a load and its counts/],
    ['load,counts\n1,', 2, /count is missing/],
    ['load,counts\nx,2', 2, /"x" is no number/],
    ['load,counts\n0x10,2', 2, /no number/],
    ['load,counts\n1e999,2', 2, /no number/],
    ['load,counts,direction\n1,2,sideways', 2, /must be up, down or nothing/],
    ['load,counts,direction\n0,5,200', 2, /decimals are written with a point/],
  ])('%j is refused at line %i', (text, line, why) => {
    const { code, message } = codeOf(() => readPoints(text, 'f.csv'));
    expect(code).toBe('POINTS_LINE');
    expect(message).toContain(`Line ${line} of f.csv`);
    expect(message).toMatch(why);
  });
});

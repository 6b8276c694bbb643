import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { coefficientQuantities } from '../../../../host/sense/calibration/model.js';
import { calibrateLoad } from '../../../../host/sense/load/calibrate.js';
import { hungLoads } from '../../../../host/sense/load/hung.js';
import { sheetOf } from '../../../../host/sense/sheet.js';
import { budget } from '../../../../host/sense/uncertainty/budget.js';
import { correlation, u } from '../../../../host/sense/uncertainty/quantity.js';
import { inPlace, normals, piece, pull_N, upAndDown } from './support/cell.js';

const sheet = sheetOf();
const masses = [50, 100, 200, 400];

describe('hung masses', () => {
  it('pull with mass, gravity and buoyancy, at their radius', () => {
    const [torque] = hungLoads([[piece(100)]], inPlace);
    expect(torque?.value).toBeCloseTo(0.1 * 9.81 * (1 - 1.2 / 8000) * 0.06, 15);
    expect(torque?.unit).toBe('Nm');
    const [force] = hungLoads([[piece(100), piece(50)]], { ...inPlace, kind: 'force' });
    expect(force?.value).toBeCloseTo(pull_N(150), 12);
  });

  it('are one error wherever the same piece hangs, and another where it is another', () => {
    const [a, b, both, twice] = hungLoads([[piece(100, 0.1)], [piece(50, 0.1)], [piece(100, 0.1), piece(50, 0.1)], [piece(100, 0.1), piece(100, 0.1)]], { ...inPlace, kind: 'force' });
    if (a === undefined || b === undefined || both === undefined || twice === undefined) throw new Error('four loads');
    expect(correlation(a, b)).toBe(0);
    expect(correlation(a, both)).toBeCloseTo(Math.SQRT1_2, 10);
    // Two pieces of one name are two pieces.
    expect(u(twice)).toBeCloseTo(u(a) * Math.SQRT2, 10);
  });

  it('share gravity, air and radius', () => {
    const [a, b] = hungLoads([[piece(100)], [piece(50)]], { ...inPlace, gravity: { ...inPlace.gravity, u_m_s2: 5e-4 }, arm: { value_m: 0.06, u_m: 1e-4 } });
    if (a === undefined || b === undefined) throw new Error('two loads');
    expect(correlation(a, b)).toBeCloseTo(1, 12);
    expect(u(a) / a.value).toBeCloseTo(Math.hypot(1e-4 / 0.06, 5e-4 / 9.81), 10);
  });
});

describe('a calibration', () => {
  it('of exact data has the exact coefficients, straight or curved', () => {
    const line = calibrateLoad(upAndDown(masses, (F) => 1000 + 800_000 * F), { ...inPlace, kind: 'force' }, sheet).model;
    expect(line.degree).toBe(1);
    expect(line.coefficients[0]).toBeCloseTo(1000, 5);
    expect(line.coefficients[1]).toBeCloseTo(800_000, 5);
    const curve = calibrateLoad(upAndDown(masses, (F) => -500 - 800_000 * F + 300 * F * F), { ...inPlace, kind: 'force' }, sheet).model;
    expect(curve.degree).toBe(2);
    for (const [k, c] of [-500, -800_000, 300].entries()) expect((curve.coefficients[k] ?? 0) / c).toBeCloseTo(1, 7);
  });

  it('carries gravity and radius into the slope with their sign: a stronger pull is a lesser slope', () => {
    const { model } = calibrateLoad(upAndDown(masses, (F) => 1000 + 800_000 * F), { ...inPlace, gravity: { ...inPlace.gravity, u_m_s2: 5e-4 }, arm: { value_m: 0.06, u_m: 1e-4 } }, sheet);
    const c1 = model.coefficients[1] ?? 0;
    const row = (id: string) => model.sources.find(({ source }) => source.id.startsWith(id))?.c_u[1] ?? 0;
    expect(row('gravity') / c1).toBeCloseTo(-5e-4 / 9.81, 10);
    expect(row('radius') / c1).toBeCloseTo(-1e-4 / 0.06, 10);
  });

  it('moves as it says when one piece is off', () => {
    const half_g = 0.5;
    const setup = { ...inPlace, kind: 'force' } as const;
    const hung = upAndDown(masses, (F) => 1000 + 800_000 * F, half_g);
    const { model } = calibrateLoad(hung, setup, sheet, { degree: 1 });
    const heavier = hung.map((p) => ({ ...p, pieces: p.pieces.map((one) => (one.nominal_g === 200 ? { ...one, nominal_g: 200 + half_g / Math.sqrt(3) } : one)) }));
    const moved = calibrateLoad(heavier, setup, sheet, { degree: 1 }).model;
    const told = model.sources.find(({ source }) => source.id === 'mass: test set 200 g')?.c_u ?? [];
    for (const k of [0, 1]) expect(((moved.coefficients[k] ?? 0) - (model.coefficients[k] ?? 0)) / (told[k] ?? 1)).toBeCloseTo(1, 1);
  });

  it('is plain JSON, and gives its quantities back', () => {
    const noise = normals(3);
    const { model } = calibrateLoad(upAndDown(masses, (F) => 1000 + 800_000 * F + 20 * noise(), 0.005, 3), inPlace, sheet);
    expect(JSON.parse(JSON.stringify(model))).toEqual(model);
    const [c0, c1] = coefficientQuantities(model);
    expect(c1?.value).toBe(model.coefficients[1]);
    expect(c0 === undefined || c1 === undefined ? 0 : correlation(c0, c1)).toBeLessThan(0);
    // One estimate of one scatter is one line of the budget.
    expect(budget(c1 ?? coefficientQuantities(model)[0] ?? { value: 0, unit: '', parts: [] }).filter((l) => l.source.endsWith('scatter'))).toHaveLength(1);
  });

  it('keeps the loop out of the scatter, and gives it to readings within the range', () => {
    const noise = normals(5);
    const top = pull_N(400);
    const half = (F: number): number => (500 * 4 * F * (top - F)) / top ** 2;
    const { fit, model } = calibrateLoad(upAndDown(masses, (F, way) => 1000 + 800_000 * F + (way === 'up' ? -1 : 1) * half(F) + 5 * noise(), 0, 5), { ...inPlace, kind: 'force' }, sheet);
    expect(fit.hysteresis?.max.count).toBeGreaterThan(900);
    expect(fit.hysteresis?.max.count).toBeLessThan(1050);
    expect(fit.residual_sd).toBeGreaterThan(200);
    expect(model.residual_sd_count).toBeLessThan(15);
    const loop = model.errors.find((e) => e.per === 'loop');
    expect((loop?.u ?? 0) * Math.SQRT2 * 800_000).toBeGreaterThan(480);
    expect((loop?.u ?? 0) * Math.SQRT2 * 800_000).toBeLessThan(520);
  });

  it('does not call noise a loop', () => {
    const loops = Array.from({ length: 40 }, (_, seed) => {
      const noise = normals(100 + seed);
      const { model } = calibrateLoad(upAndDown(masses, (F) => 800_000 * F + 50 * noise(), 0, 50), { ...inPlace, kind: 'force' }, sheet);
      return (model.errors.find((e) => e.per === 'loop')?.u ?? 0) * 800_000;
    });
    expect(loops.filter((l) => l === 0).length).toBeGreaterThan(15);
    expect(Math.max(...loops)).toBeLessThan(120);
  });

  it('does not depend on the order of its points', () => {
    const noise = normals(9);
    const hung = upAndDown(masses, (F) => 1000 + 800_000 * F + 20 * noise(), 0.01, 3);
    const one = calibrateLoad(hung, inPlace, sheet).model;
    fc.assert(
      fc.property(fc.shuffledSubarray(hung, { minLength: hung.length }), (shuffled) => {
        const other = calibrateLoad(shuffled, inPlace, sheet).model;
        for (const [k, c] of one.coefficients.entries()) expect((other.coefficients[k] ?? 0) / c).toBeCloseTo(1, 9);
        expect(other.residual_sd_count / one.residual_sd_count).toBeCloseTo(1, 7);
      }),
      { numRuns: 30, seed: 4 },
    );
  });

  it('refuses a cell that is turned round where its sign was declared, and takes it where not', () => {
    const hung = upAndDown(masses, (F) => 1000 - 800_000 * F);
    expect(calibrateLoad(hung, inPlace, sheet).fit.sign).toBe(-1);
    expect(() => calibrateLoad(hung, inPlace, sheet, { sign: 1 })).toThrow(/declared to rise/);
  });

  it('refuses a load beyond the capacity on the sheet', () => {
    expect(() => calibrateLoad(upAndDown(masses, (F) => F), inPlace, sheetOf({ cell_capacity_N: 3 }))).toThrow(/rated for/);
  });
});

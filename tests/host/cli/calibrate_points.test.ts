import { mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';

import { calibratePoints } from '../../../host/cli/calibrate_points.js';
import type { PointOptions, PointsResult } from '../../../host/cli/calibrate_points.js';
import { SmallbrakeError } from '../../../host/errors.js';
import { gravity_m_s2 } from '../../../host/sense/physics/gravity.js';

const folder = mkdtempSync(join(tmpdir(), 'smallbrake points '));
function fileOf(name: string, text: string): string {
  const file = join(folder, name);
  writeFileSync(file, text);
  return file;
}
const loop = fileOf('loop.csv', 'load,counts,direction\r\n0,1000,up\r\n50,40990,up\r\n100,80988,up\r\n200,161002,up\r\n100,81015,down\r\n50,41012,down\r\n0,1004,down\r\n');

/** What the command hands to whoever prints. */
function said(options: PointOptions & { readonly points: string }): { readonly value: PointsResult; readonly text: string } {
  const seen: { value: unknown; text: string }[] = [];
  calibratePoints(options, { json: true, data: (value, text) => void seen.push({ value, text }), note: () => undefined, failed: () => 1 });
  const [one] = seen;
  if (one === undefined || seen.length > 1) throw new Error('one result');
  return { value: JSON.parse(JSON.stringify(one.value)) as PointsResult, text: one.text };
}

describe('calibrate --points', () => {
  it('turns masses into force by local gravity and buoyancy, and into torque by a radius', () => {
    const { si, unit, coefficients } = said({ points: loop, unit: 'g', latitude: '52.5', height: '40' }).value;
    expect(unit).toBe('g');
    const N_per_g = (gravity_m_s2(52.5, 40) / 1000) * (1 - 1.2 / 8000);
    expect(((si?.coefficients[1] ?? 0) * N_per_g) / (coefficients[1] ?? NaN)).toBeCloseTo(1, 9);
    const torque = said({ points: loop, unit: 'g', gravity: '9.8127', radius: '60+-0.2' }).value.si;
    expect(torque?.unit).toBe('Nm');
    expect((torque?.u?.[1] ?? 0) / (torque?.coefficients[1] ?? 1)).toBeCloseTo(Math.hypot(0.2 / 60 / Math.sqrt(3), (torque?.coefficient_sd?.[1] ?? 0) / (torque?.coefficients[1] ?? 1)), 5);
  });

  it('keeps its exact fields first, and si null without a unit', () => {
    const { value } = said({ points: loop });
    expect(Object.keys(value).slice(0, 8)).toEqual(['degree', 'coefficients', 'coefficient_sd', 'residual_sd', 'n', 'dof', 'unit', 'si']);
    expect([value.unit, value.si]).toEqual([null, null]);
  });

  it('takes the degree that is told', () => {
    expect(said({ points: loop }).value.degree).toBe(1);
    expect(said({ points: loop, degree: '2' }).value).toMatchObject({ degree: 2, dof: 4, choice: { reason: 'asked' } });
  });

  it('shows residuals, coefficients and the choice to a person within 80 columns', () => {
    const { text } = said({ points: loop, unit: 'kgf' });
    expect(Math.max(...text.split('\n').map((l) => l.length))).toBeLessThanOrEqual(80);
    for (const word of ['^', 'v', 'Straight line', 'hysteresis', 'lower limit factor', 'zero return']) expect(text).toContain(word);
  });

  const comma = fileOf('comma.csv', 'load,counts\n0,1\n0,5,200\n');
  const two = fileOf('two.csv', 'load,counts\n0,1\n5,5\n5,6\n');
  const one = fileOf('one.csv', 'load,counts\n5,5\n5,6\n');
  it.each<[PointOptions & { points: string }, string, string]>([
    [{ points: loop, unit: 'g' }, 'WRONG_USE', '--latitude'],
    [{ points: loop, unit: 'stone' }, 'UNIT_UNKNOWN', 'stone'],
    [{ points: loop, degree: '3' }, 'WRONG_USE', '--degree 3'],
    [{ points: loop, radius: '60' }, 'WRONG_USE', '--unit'],
    [{ points: loop, height: '60', unit: 'g' }, 'WRONG_USE', '--latitude'],
    [{ points: loop, unit: 'N', radius: '-1' }, 'WRONG_USE', 'above 0'],
    [{ points: loop, unit: 'g', gravity: '9,81' }, 'WRONG_USE', 'not a comma'],
    [{ points: loop, unit: 'g', gravity: '1.62' }, 'WRONG_USE', '9.76'],
    [{ points: loop, unit: 'N', gravity: '9.81', latitude: '50' }, 'WRONG_USE', 'one of them'],
    [{ points: comma }, 'POINTS_LINE', 'Line 3 of comma.csv'],
    [{ points: two, degree: '2' }, 'FIT_IMPOSSIBLE', 'different loads'],
    [{ points: one }, 'LOAD_UNFIT', 'all loads are 5'],
    [{ points: join(folder, 'none.csv') }, 'CANNOT_READ', 'none.csv'],
  ])('%j is refused as %s', (options, code, word) => {
    let caught: unknown;
    try {
      said(options);
    } catch (thrown) {
      caught = thrown;
    }
    expect(caught).toBeInstanceOf(SmallbrakeError);
    expect((caught as SmallbrakeError).code).toBe(code);
    expect((caught as SmallbrakeError).message).toContain(word);
  });
});

import { mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';

import { fitLoad } from '../../host/sense/load/fit.js';
import { readPoints } from '../../host/sense/load/points_file.js';
import { run } from '../support/program.js';
import { digitsOf, published } from './published.js';

interface Pontius {
  readonly data: readonly (readonly [y: number, x: number])[];
  readonly certified: {
    readonly coefficients: { B0: string; B1: string; B2: string };
    readonly coefficient_sd: { B0: string; B1: string; B2: string };
    readonly residual_sd: string;
  };
}
interface Said {
  readonly degree: number;
  readonly coefficients: readonly number[];
  readonly coefficient_sd: readonly number[];
  readonly residual_sd: number;
  readonly n: number;
  readonly dof: number;
  readonly unit: string | null;
  readonly si: { readonly unit: string; readonly coefficients: readonly number[] } | null;
}

const { data, certified } = JSON.parse(published('nist-strd-pontius.json')) as Pontius;
const csv = ['load,counts', ...data.map(([y, x]) => `${x},${y}`)].join('\n');
const values = (c: { B0: string; B1: string; B2: string }): string[] => [c.B0, c.B1, c.B2];

function holds(said: Pick<Said, 'coefficients' | 'coefficient_sd' | 'residual_sd'>): void {
  for (const [k, value] of values(certified.coefficients).entries()) expect(digitsOf(said.coefficients[k] ?? NaN, value)).toBeGreaterThanOrEqual(10);
  for (const [k, value] of values(certified.coefficient_sd).entries()) expect(digitsOf(said.coefficient_sd[k] ?? NaN, value)).toBeGreaterThanOrEqual(10);
  expect(digitsOf(said.residual_sd, certified.residual_sd)).toBeGreaterThanOrEqual(10);
}

/** NIST StRD, linear least squares, Pontius: a load cell of 40 points, as a file that the command is given. */
describe('NIST StRD Pontius as a file of points', () => {
  it('is a quadratic by its own evidence, with all certified values to 10 digits', () => {
    const fit = fitLoad(readPoints(csv, 'pontius.csv'));
    expect(fit).toMatchObject({ degree: 2, n: 40, dof: 37, choice: { reason: 'curved' } });
    holds({ coefficients: fit.coefficients, coefficient_sd: fit.coefficient_sd ?? [], residual_sd: fit.residual_sd ?? NaN });
  });

  it('has the lower limit factor of 2.4 residual sds over the mean slope (ASTM E74-18 as quoted; computed here)', () => {
    const fit = fitLoad(readPoints(csv, 'pontius.csv'));
    const { B1, B2 } = certified.coefficients;
    const mean_slope = Number(B1) + Number(B2) * (150_000 + 3_000_000);
    expect(digitsOf(fit.lower_limit.llf ?? NaN, (2.4 * Number(certified.residual_sd)) / mean_slope)).toBeGreaterThan(9);
  });

  it('comes out of the command with the same digits, and in SI', async () => {
    const file = join(mkdtempSync(join(tmpdir(), 'smallbrake points ')), 'pontius.csv');
    writeFileSync(file, csv);
    const plain = await run(['calibrate', '--points', file, '--unit', 'lbf', '--json']);
    expect([plain.status, plain.stderr]).toEqual([0, '']);
    const said = JSON.parse(plain.stdout) as Said;
    expect(said).toMatchObject({ degree: 2, n: 40, dof: 37, unit: 'lbf', si: { unit: 'N' } });
    for (const k of [0, 1, 2]) expect(digitsOf(said.si?.coefficients[k] ?? NaN, (said.coefficients[k] ?? NaN) / 4.4482216152605 ** k)).toBeGreaterThan(12);
    holds(said);
  }, 60_000);
});

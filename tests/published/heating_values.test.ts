import { readFileSync } from 'node:fs';
import { join } from 'node:path';

import { describe, expect, it } from 'vitest';

import { enteredValues } from '../../host/reduce/values/entered_values.js';
import { lowerHeatingValue, STEAM_MJ_kg, WATER_of_HYDROGEN } from '../../host/sense/thermal/heat.js';
import { exact, known, u } from '../../host/sense/uncertainty/quantity.js';
import { projectRoot } from '../support/compile.js';

/** Y. A. Cengel, M. A. Boles, Thermodynamics: An Engineering Approach, 8th edition, table A-27, at 25 C: MJ/kg. Molar masses from the same table, kg/kmol. */
const cengel = [
  { fuel: 'methane', hydrogen: 4, molar: 16.043, higher: 55.53, lower: 50.05 },
  { fuel: 'methanol', hydrogen: 4, molar: 32.042, higher: 22.66, lower: 19.92 },
  { fuel: 'ethanol', hydrogen: 6, molar: 46.069, higher: 29.67, lower: 26.81 },
  { fuel: 'propane', hydrogen: 8, molar: 44.097, higher: 50.33, lower: 46.34 },
  { fuel: 'butane', hydrogen: 10, molar: 58.123, higher: 49.15, lower: 45.37 },
  { fuel: 'hexane', hydrogen: 14, molar: 86.177, higher: 48.31, lower: 44.74 },
] as const;

/** Hydrogen Analysis Resource Center, "Lower and Higher Heating Values of Hydrogen and Fuels": MJ/kg, at 0 C. */
const resourceCenter = [
  { fuel: 'methanol', hydrogen: 4, molar: 32.042, higher: 22.878, lower: 20.089 },
  { fuel: 'ethanol', hydrogen: 6, molar: 46.069, higher: 29.84, lower: 26.945 },
] as const;

/** CODATA key values, kJ/mol at 25 C: the gas CO2, water as liquid and as gas. Isobutane gas: NIST, from memory. */
const formation = { CO2: -393.51, water: -285.83, steam: -241.826, isobutane: -134.2 };

const hydrogenPercent = ({ hydrogen, molar }: { hydrogen: number; molar: number }): number => (100 * 1.008 * hydrogen) / molar;
const lowerOf = (higher: number, percent: number): number => lowerHeatingValue(exact(higher, 'MJ/kg'), exact(percent, '%')).value;

describe('heating values', () => {
  it.each(cengel)('$fuel: lower from higher within the digits of the table', (row) => {
    expect(Math.abs(lowerOf(row.higher, hydrogenPercent(row)) - row.lower)).toBeLessThan(0.011 + 1e-9);
  });

  it.each(resourceCenter)('$fuel: the same by another table, of 0 C, where steam takes more', (row) => {
    const q = lowerHeatingValue(exact(row.higher, 'MJ/kg'), exact(hydrogenPercent(row), '%'));
    expect(Math.abs(q.value - row.lower)).toBeLessThan(3 * u(q));
    expect(q.value / row.lower).toBeCloseTo(1, 2);
  });

  it('isobutane: from its enthalpy of formation', () => {
    const molar = 58.123;
    const burnt = (water: number): number => (formation.isobutane - 4 * formation.CO2 - 5 * water) / molar;
    expect(lowerOf(burnt(formation.water), hydrogenPercent({ hydrogen: 10, molar }))).toBeCloseTo(burnt(formation.steam), 2);
  });

  it('the latent heat is that between the two states of water, and the water that of the formula', () => {
    expect(STEAM_MJ_kg).toBeCloseTo((formation.steam - formation.water) / 18.015, 2);
    expect(WATER_of_HYDROGEN).toBeCloseTo(8.936, 3);
  });

  it('stand in the notes as in the table', () => {
    const notes = readFileSync(join(projectRoot, 'hardware-notes/heat-input.md'), 'utf8');
    const rows = [...notes.matchAll(/^\| (\w+) \| \w+ \| ([\d.]+) \| ([\d.]+) \| ([\d.]+) \|$/gm)].map(([, fuel, ...numbers]) => [fuel, ...numbers.map(Number)]);
    expect(rows).toHaveLength(4);
    for (const [fuel, percent, higher, lower] of rows) {
      const row = cengel.find((r) => r.fuel === fuel);
      expect([higher, lower]).toEqual([row?.higher, row?.lower]);
      expect(percent).toBeCloseTo(row === undefined ? NaN : hydrogenPercent(row), 2);
    }
    // 92.4 % by mass: what the spirit gives, less what boils its water off.
    expect(notes).toContain(`some ${(0.924 * 26.81 - 0.076 * STEAM_MJ_kg).toFixed(1)} MJ/kg`);
  });

  it('an entry of the higher one gives the fuel power of the lower one, and a wider interval', () => {
    const entry = (name: string, value: number, age_s: number, u_value = 0) => ({ name, value, u: u_value, unit: '', age_s });
    const weighed = [entry('fuel_in_g', 300, 900), entry('fuel_out_g', 290, -900)];
    const by = (...told: ReturnType<typeof entry>[]) => enteredValues([...weighed, ...told]).fuel_W;
    const lower = by(entry('fuel_LHV_MJ_kg', 26.81, 0)).quantity;
    const higher = by(entry('fuel_HHV_MJ_kg', 29.67, 0), entry('fuel_hydrogen_percent', 13.13, 0, 0.05)).quantity;
    expect(lower?.value).toBeCloseTo((10 * 26_810) / 1800, 6);
    expect((higher?.value ?? 0) / (lower?.value ?? 1)).toBeCloseTo(1, 3);
    expect(higher === null ? 0 : u(higher)).toBeGreaterThan(lower === null ? 1 : u(lower));
    // Told of later, whichever it is.
    expect(by(entry('fuel_LHV_MJ_kg', 20, 500), entry('fuel_HHV_MJ_kg', 29.67, 100), entry('fuel_hydrogen_percent', 13.13, 100)).quantity?.value).toBeCloseTo(higher?.value ?? 0, 9);
    expect(by(entry('fuel_LHV_MJ_kg', 26.81, 100), entry('fuel_HHV_MJ_kg', 50, 500)).quantity?.value).toBeCloseTo(lower?.value ?? 0, 9);
    expect(by(entry('fuel_HHV_MJ_kg', 29.67, 0)).reason).toContain('no fuel_hydrogen_percent was entered');
    expect(by().reason).toContain('nor fuel_HHV_MJ_kg');
    expect(lowerHeatingValue(known(29.67, 'MJ/kg', 0.3, { id: 'h', says: 'h', kind: 'systematic' }), exact(13.13, '%')).unit).toBe('MJ/kg');
  });
});

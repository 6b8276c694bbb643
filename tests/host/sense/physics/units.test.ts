import { describe, expect, it } from 'vitest';

import { inKg, inN, isForceUnit, loadUnitOf, loadUnits, N_PER_FORCE_UNIT, power_W, radPerS, revPerMin } from '../../../../host/sense/physics/units.js';

describe('units', () => {
  it('of force are exact', () => {
    // lbf = 0.45359237 kg x 9.80665 m/s2, whose product ends after these digits.
    expect(N_PER_FORCE_UNIT.lbf).toBe(4.4482216152605);
    expect(0.45359237 * 9.80665).toBeCloseTo(4.4482216152605, 14);
    expect(inN(1, 'kgf')).toBe(9.80665);
    expect(inN(1000, 'gf')).toBe(9.80665);
    expect(inN(2, 'N')).toBe(2);
  });

  it('of mass are exact', () => {
    expect(inKg(50, 'g')).toBe(0.05);
    expect(inKg(1, 'lb')).toBe(0.45359237);
    expect(inKg(3, 'kg')).toBe(3);
  });

  it('know a force from a mass, and their names', () => {
    expect(loadUnits.filter(isForceUnit)).toEqual(['N', 'gf', 'kgf', 'lbf']);
    expect(loadUnits.map(loadUnitOf)).toEqual(loadUnits);
    expect(() => loadUnitOf('oz')).toThrow('oz is no unit of load: use one of N, gf, kgf, lbf, g, kg, lb.');
  });

  it('of speed and power: 1 W at 600 rev/min is 15.9 mNm', () => {
    expect(power_W(0.0159155, 600)).toBeCloseTo(1, 5);
    expect(radPerS(60)).toBeCloseTo(2 * Math.PI, 14);
    expect(revPerMin(radPerS(437))).toBeCloseTo(437, 12);
  });
});

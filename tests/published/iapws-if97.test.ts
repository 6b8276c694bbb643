import { describe, expect, it } from 'vitest';

import { boilingPressure_Pa, STANDARD_PRESSURE_Pa, WATER_LIMITS, waterState } from '../../host/sense/physics/water.js';
import { published } from './published.js';

interface Row {
  readonly t_C: number;
  readonly density_kg_m3: number;
  readonly cp_kJ_kgK: number;
  readonly h_kJ_kg: number;
  readonly density_Tanaka_kg_m3?: number;
  readonly density_handbook_kg_m3?: number;
  readonly cp_handbook_kJ_kgK?: number;
}
interface Data {
  readonly verification: readonly { T_K: number; p_MPa: number; v_m3_kg: string; h_kJ_kg: string; cp_kJ_kgK: string }[];
  readonly saturation_MPa: Readonly<Record<string, string>>;
  readonly water_101325_Pa: readonly Row[];
}
/** IAPWS R7-97(2012); the other columns name their sources in the file. */
const data = JSON.parse(published('if97-region1.json')) as Data;
const rows = data.water_101325_Pa;

describe('water, IAPWS-IF97 region 1', () => {
  it.each(data.verification)('gives table 5 at $T_K K and $p_MPa MPa to 9 digits', ({ T_K, p_MPa, v_m3_kg, h_kJ_kg, cp_kJ_kgK }) => {
    const { density_kg_m3, enthalpy_J_kg, cp_J_kgK } = waterState(T_K - 273.15, p_MPa * 1e6);
    expect(Number((1 / density_kg_m3).toPrecision(9))).toBe(Number(v_m3_kg));
    expect(Number((enthalpy_J_kg / 1e3).toPrecision(9))).toBe(Number(h_kJ_kg));
    expect(Number((cp_J_kgK / 1e3).toPrecision(9))).toBe(Number(cp_kJ_kgK));
  });

  it.each(Object.entries(data.saturation_MPa))('boils at %s K under %s MPa', (T_K, p_MPa) => {
    // 350 C is the end of region 1; 600 K is within.
    expect(Number((boilingPressure_Pa(Number(T_K) - 273.15) / 1e6).toPrecision(9))).toBe(Number(p_MPa));
  });

  it('gives 0 to 100 C at 101325 Pa as computed apart from this program', () => {
    expect(rows).toHaveLength(21);
    for (const row of rows) {
      const { density_kg_m3, cp_J_kgK, enthalpy_J_kg } = waterState(row.t_C);
      expect(density_kg_m3).toBeCloseTo(row.density_kg_m3, 5);
      expect(cp_J_kgK / 1e3).toBeCloseTo(row.cp_kJ_kgK, 6);
      expect(enthalpy_J_kg / 1e3).toBeCloseTo(row.h_kJ_kg, 5);
    }
  });

  it('lies within its stated limits of the density of the CIPM and of a handbook', () => {
    for (const row of rows) {
      const { density_kg_m3, cp_J_kgK } = waterState(row.t_C);
      if (row.density_Tanaka_kg_m3 !== undefined) expect(Math.abs(density_kg_m3 / row.density_Tanaka_kg_m3 - 1)).toBeLessThan(1e-5);
      if (row.density_handbook_kg_m3 !== undefined) expect(Math.abs(density_kg_m3 / row.density_handbook_kg_m3 - 1)).toBeLessThan(WATER_LIMITS.density);
      if (row.cp_handbook_kJ_kgK !== undefined) expect(Math.abs(cp_J_kgK / 1e3 / row.cp_handbook_kJ_kgK - 1)).toBeLessThan(WATER_LIMITS.cp);
    }
  });

  it('has a cp that is the slope of its enthalpy, and hardly depends on the pressure of a kitchen', () => {
    for (let t_C = 1; t_C < 99; t_C += 7) {
      const slope = (waterState(t_C + 0.01).enthalpy_J_kg - waterState(t_C - 0.01).enthalpy_J_kg) / 0.02;
      expect(Math.abs(waterState(t_C).cp_J_kgK / slope - 1)).toBeLessThan(1e-7);
      expect(Math.abs(waterState(t_C, 2 * STANDARD_PRESSURE_Pa).cp_J_kgK / waterState(t_C).cp_J_kgK - 1)).toBeLessThan(2e-4);
    }
  });

  it('refuses ice, steam and nonsense', () => {
    expect(() => waterState(-0.1)).toThrow('A water temperature is -0.1 C');
    expect(() => waterState(Number.NaN)).toThrow('from 0 to 350 C');
    expect(() => waterState(102)).toThrow('it would boil below');
    expect(() => waterState(20, 0)).toThrow('A water pressure is 0 Pa');
    expect(waterState(102, 2 * STANDARD_PRESSURE_Pa).density_kg_m3).toBeLessThan(958);
  });
});

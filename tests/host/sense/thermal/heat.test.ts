import { describe, expect, it } from 'vitest';

import { coolantHeat_W, coolantProperties, fuelPower_W, heaterPower_W } from '../../../../host/sense/thermal/heat.js';
import { budget } from '../../../../host/sense/uncertainty/budget.js';
import { known, u } from '../../../../host/sense/uncertainty/quantity.js';
import type { Quantity } from '../../../../host/sense/uncertainty/quantity.js';
import { normalOf, seeded, spread } from './support.js';

const told = (value: number, unit: string, size: number, id: string): Quantity => known(value, unit, size, { id, says: id, kind: 'systematic' });

describe('heat into the coolant', () => {
  const flow = told(0.5, 'L/min', 0.005, 'flow');
  const dT = told(5, 'K', 0.28, 'difference');
  const at = told(20, 'C', 0.3, 'mean');

  it('has the density and heat capacity of IF97', () => {
    const { density_kg_m3, cp_J_kgK } = coolantProperties(at, { kind: 'water' });
    expect(density_kg_m3.value).toBeCloseTo(998.207, 2);
    expect(cp_J_kgK.value).toBeCloseTo(4184.8, 0);
    expect(u(density_kg_m3)).toBeCloseTo(Math.hypot(0.2 * 0.3, 998 * 5e-5 / Math.sqrt(3)), 1);
  });

  it('of 0.5 L/min and 5 K at 20 C is 174 W, and nearly all its doubt is that of the difference', () => {
    const heat = coolantHeat_W(flow, dT, at);
    expect(heat.value).toBeCloseTo((998.207 * 4184.8 * 0.5 * 5) / 60_000, 1);
    expect(u(heat) / heat.value).toBeCloseTo(Math.hypot(0.28 / 5, 0.01), 3);
    expect(budget(heat)[0]).toMatchObject({ source: 'difference' });
    expect(budget(heat)[0]?.share).toBeGreaterThan(0.95);
  });

  it('of a mix takes the figures entered, with their doubt', () => {
    const mix = { kind: 'mix', density_kg_m3: told(1040, 'kg/m3', 5, 'density'), cp_J_kgK: told(3600, 'J/(kg K)', 50, 'cp') } as const;
    const heat = coolantHeat_W(flow, dT, at, mix);
    expect(heat.value).toBeCloseTo((1040 * 3600 * 0.5 * 5) / 60_000, 6);
    expect(budget(heat).find((l) => l.source === 'cp')?.u).toBeCloseTo((heat.value * 50) / 3600, 6);
  });

  it('counts once what flow and density share', () => {
    const rho = told(1040, 'kg/m3', 10, 'density');
    // By bucket, flow is mass over density: a density that is too large makes the flow too small.
    const by_bucket = { value: 0.5, unit: 'L/min', parts: rho.parts.map((p) => ({ ...p, c_u: (-0.5 * p.c_u) / 1040 })) };
    const heat = coolantHeat_W(by_bucket, { ...dT, parts: [] }, { ...at, parts: [] }, { kind: 'mix', density_kg_m3: rho, cp_J_kgK: told(3600, 'J/(kg K)', 0, 'cp') });
    expect(u(heat)).toBeLessThan(1e-9 * heat.value);
  });

  it('refuses water that is none', () => {
    expect(() => coolantHeat_W(flow, dT, told(110, 'C', 1, 'mean'))).toThrow('boil');
  });

  it('errs by as much as it says', () => {
    const normal = normalOf(seeded(8));
    const z = Array.from({ length: 500 }, () => {
      const heat = coolantHeat_W(told(0.5 + 0.02 * normal(), 'L/min', 0.02, 'flow'), told(5 + 0.1 * normal(), 'K', 0.1, 'difference'), at);
      return (heat.value - coolantHeat_W(flow, dT, at).value) / u(heat);
    });
    expect(spread(z).sd).toBeGreaterThan(0.92);
    expect(spread(z).sd).toBeLessThan(1.08);
  });
});

describe('entered power', () => {
  it('is volts times amps', () => {
    const p = heaterPower_W(told(12, 'V', 0.12, 'volts'), told(4, 'A', 0.08, 'amps'));
    expect(p.value).toBe(48);
    expect(u(p)).toBeCloseTo(48 * Math.hypot(0.01, 0.02), 9);
  });

  it('of fuel is what was burnt over the time, by its lower heating value', () => {
    // Ethanol: 26.8 kJ/g (common practice, no source).
    const p = fuelPower_W(told(100, 'g', 0.1, 'in'), told(94, 'g', 0.1, 'out'), told(1800, 's', 2, 'time'), told(26_800, 'J/g', 300, 'lhv'));
    expect(p.value).toBeCloseTo((6 / 1800) * 26_800, 9);
    expect(u(p) / p.value).toBeCloseTo(Math.hypot((0.1 * Math.SQRT2) / 6, 2 / 1800, 300 / 26_800), 9);
    // One balance that reads a share too much, the same at both ends, is that share of what was burnt.
    const balance = (v: number): Quantity => told(v, 'g', v * 0.01, 'balance');
    expect(u(fuelPower_W(balance(100), balance(94), told(1800, 's', 0, 't'), told(26_800, 'J/g', 0, 'l'))) / p.value).toBeCloseTo(0.01, 9);
  });
});

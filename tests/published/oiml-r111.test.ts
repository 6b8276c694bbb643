import { describe, expect, it } from 'vitest';

import { airDensity_kg_m3, airDensityLimit, buoyancyFactor, weight_N } from '../../host/sense/physics/air.js';
import { WEIGHT_LIMITS_mg, weightClasses, weightLimit_mg, type WeightClass } from '../../host/sense/physics/masses.js';

/**
 * OIML R 111-1:2004, table 1, as printed by a maker of weights
 * (kern-lab.com/dakksdkd/weights/oiml), in mg. That page prints M1 of 5 mg as 0.02, where
 * the standard (from memory) and the rows beside it have 0.20.
 */
const printed = `
1mg 0.006 0.020 0.06 0.20
2mg 0.006 0.020 0.06 0.20
5mg 0.006 0.020 0.06 0.20
10mg 0.008 0.025 0.08 0.25
20mg 0.010 0.03 0.10 0.3
50mg 0.012 0.04 0.12 0.4
100mg 0.016 0.05 0.16 0.5 1.6
200mg 0.020 0.06 0.20 0.6 2.0
500mg 0.025 0.08 0.25 0.8 2.5
1g 0.03 0.10 0.3 1.0 3.0 10
2g 0.04 0.12 0.4 1.2 4.0 12
5g 0.05 0.16 0.5 1.6 5.0 16
10g 0.06 0.20 0.6 2.0 6.0 20
20g 0.08 0.25 0.8 2.5 8.0 25
50g 0.10 0.3 1.0 3.0 10 30
100g 0.16 0.5 1.6 5.0 16 50
200g 0.3 1.0 3.0 10 30 100
500g 0.8 2.5 8.0 25 80 250
1kg 1.6 5.0 16 50 160 500
2kg 3.0 10 30 100 300 1000
5kg 8.0 25 80 250 800 2500
`;
const grams = (text: string): number => Number.parseFloat(text) * (text.endsWith('mg') ? 1e-3 : text.endsWith('kg') ? 1e3 : 1);

describe('weights, OIML R 111', () => {
  it('have the printed limits in every class', () => {
    const rows = printed.trim().split('\n').map((line) => line.split(' '));
    expect(rows).toHaveLength(WEIGHT_LIMITS_mg.length);
    for (const [nominal = '', ...limits] of rows) {
      for (const [i, accuracy_class] of weightClasses.entries()) {
        const limit = limits[i];
        if (limit === undefined) expect(() => weightLimit_mg(grams(nominal), accuracy_class)).toThrow('gives no limit');
        else expect(weightLimit_mg(grams(nominal), accuracy_class)).toBe(Number(limit));
      }
    }
  });

  it.each<[number, WeightClass, string]>([
    [30, 'M1', '30 g in class M1; it does for 20 g and 50 g'],
    [0.05, 'M2', 'it does for 0.1 g: name'],
    [10_000, 'F1', 'it does for 5000 g: name'],
    [Number.NaN, 'F1', 'it does for 0.001 g, 0.002 g'],
  ])('of %d g in class %s: say the nearest', (nominal_g, accuracy_class, said) => {
    expect(() => weightLimit_mg(nominal_g, accuracy_class)).toThrow(said);
  });

  it('takes a nominal that comes out of a conversion', () => {
    expect(weightLimit_mg(0.1 * 3 * 1000 - 100, 'M1')).toBe(10);
  });
});

/** OIML R 111-1, E.3 (approximation; from memory) beside the CIPM-2007 formula (Picard et al. 2008), whose column was computed apart from this program. */
describe('density of air', () => {
  it.each([
    [1013.25, 0.5, 20, 1.199294, 1.199314],
    [1013.25, 0.5, 23, 1.186112, 1.186084],
    [1000, 0.4, 25, 1.163259, 1.163219],
    [980, 0.6, 18, 1.16741, 1.167451],
    [950, 0.3, 22, 1.118153, 1.118131],
  ])('at %d hPa, %d, %d C', (p_hPa, humidity, t_C, approximate, cipm) => {
    const air = { p_Pa: p_hPa * 100, humidity, t_C };
    expect(airDensity_kg_m3(air)).toBeCloseTo(approximate, 6);
    expect(Math.abs(airDensity_kg_m3(air) / cipm - 1)).toBeLessThan(airDensityLimit(air));
    expect(airDensityLimit(air)).toBe(2e-4);
    expect(airDensityLimit({ ...air, t_C: 45 })).toBe(2e-3);
  });

  it.each([
    [{ p_Pa: 1013, humidity: 0.5, t_C: 20 }, 'The air pressure is 1013 Pa'],
    [{ p_Pa: 101_300, humidity: 50, t_C: 20 }, '50 % is 0.5'],
    [{ p_Pa: 101_300, humidity: 0.5, t_C: 293 }, 'The temperature of the room is 293 C'],
  ])('refuses %o', (air, said) => {
    expect(() => airDensity_kg_m3(air)).toThrow(said);
  });
});

/** Conventional mass, OIML D 28:2004: m_c = m (1 - 1.2/rho) / (1 - 1.2/8000). The forces were computed apart from this program. */
describe('the weight of a hung mass', () => {
  it.each([
    [0.1, 9.80665, 8000, 1.2, 0.9805179],
    [0.1, 9.80665, 8000, 1.1, 0.980530159],
    [0.1, 9.812, 7850, 1.15, 0.98105907],
    [0.05, 9.80665, 2700, 1.2, 0.49025895],
    [1, 9.80665, 8000, 1.2, 9.805179002],
  ])('of %d kg at %d m/s2, %d kg/m3 in air of %d', (mass_kg, g, mass_kg_m3, air_kg_m3, force_N) => {
    expect(weight_N(mass_kg, g, mass_kg_m3, air_kg_m3)).toBeCloseTo(force_N, 8);
  });

  it('is 150 ppm below m g in reference air, whatever the mass is made of', () => {
    for (const rho of [1000, 2700, 8000, 19_000]) expect(buoyancyFactor(rho, 1.2)).toBeCloseTo(0.99985, 12);
    expect(() => buoyancyFactor(7.85)).toThrow('steel has 7850');
    expect(() => weight_N(1, 0)).toThrow('9.78 to 9.83');
  });
});

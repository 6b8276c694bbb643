import { positive, within } from './within.js';

/** What conventional mass is defined at: air of 1.2 kg/m3, a reference weight of 8000 kg/m3 (OIML D 28). */
export const REFERENCE_AIR_kg_m3 = 1.2;
export const REFERENCE_WEIGHT_kg_m3 = 8000;

export interface Air {
  readonly t_C: number;
  readonly p_Pa: number;
  /** 0 to 1 */
  readonly humidity: number;
}

/** Approximation formula of OIML R 111-1, E.3 (from memory): within 2e-4 of the CIPM formula at 900 to 1100 hPa, 10 to 30 C, below 80 %. @throws OUT_OF_RANGE */
export function airDensity_kg_m3({ t_C, p_Pa, humidity }: Air): number {
  within('The temperature of the room', t_C, 'C', -20, 60, 'see to the thermometer');
  within('The air pressure', p_Pa, 'Pa', 50_000, 110_000, 'enter the pressure at the place, not that reduced to sea level');
  within('The humidity', humidity, 'of saturation', 0, 1, '50 % is 0.5');
  return (0.34848 * (p_Pa / 100) - 0.9 * humidity * Math.exp(0.061 * t_C)) / (ZERO_C_K + t_C);
}
const ZERO_C_K = 273.15;

/** Half-width of the formula relative to its value: as OIML states it where it does, and beyond ten times that (common practice, no source). */
export function airDensityLimit({ t_C, p_Pa, humidity }: Air): number {
  const stated = p_Pa >= 90_000 && p_Pa <= 110_000 && t_C >= 10 && t_C <= 30 && humidity < 0.8;
  return stated ? 2e-4 : 2e-3;
}

/**
 * What a mass in air pulls with, over its conventional mass times gravity: (1 - 1.2/8000)
 * (1 - air/rho) / (1 - 1.2/rho). In air of 1.2 kg/m3 it is 0.99985 whatever the mass is made of.
 * @throws OUT_OF_RANGE
 */
export function buoyancyFactor(mass_kg_m3 = REFERENCE_WEIGHT_kg_m3, air_kg_m3 = REFERENCE_AIR_kg_m3): number {
  within('The density of a mass', mass_kg_m3, 'kg/m3', 500, 25_000, 'steel has 7850, brass 8400, aluminium 2700');
  within('The density of the air', air_kg_m3, 'kg/m3', 0, 2, 'it is about 1.2');
  return ((1 - REFERENCE_AIR_kg_m3 / REFERENCE_WEIGHT_kg_m3) * (1 - air_kg_m3 / mass_kg_m3)) / (1 - REFERENCE_AIR_kg_m3 / mass_kg_m3);
}

/** Force in N of a hung mass. Weights and balances give conventional mass. @throws OUT_OF_RANGE */
export function weight_N(conventional_mass_kg: number, gravity_m_s2: number, mass_kg_m3?: number, air_kg_m3?: number): number {
  positive('The gravity', gravity_m_s2, 'm/s2', 'it is 9.78 to 9.83 on the ground');
  return conventional_mass_kg * gravity_m_s2 * buoyancyFactor(mass_kg_m3, air_kg_m3);
}

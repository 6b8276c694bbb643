import { within } from './within.js';

/**
 * Gravity by place. Normal gravity of the WGS 84 ellipsoid by Somigliana's closed form, and
 * its decrease with height to second order (NGA.STND.0036).
 */

/** Conventional value, by which kilogram-force and pound-force are defined (CGPM 1901): that of no place. */
export const STANDARD_GRAVITY_m_s2 = 9.80665;

const EQUATOR_m_s2 = 9.7803253359;
const K = 0.00193185265241;
const E2 = 0.00669437999014;
const A_m = 6_378_137;
const F = 1 / 298.257223563;
const M = 0.00344978650684;

const LEAST_m = -500;
const MOST_m = 9000;

/** @param latitude_deg geodetic; @param height_m above sea level. @throws OUT_OF_RANGE */
export function gravity_m_s2(latitude_deg: number, height_m = 0): number {
  within('The latitude', latitude_deg, 'deg', -90, 90, 'degrees north are above 0, south below');
  within('The height', height_m, 'm', LEAST_m, MOST_m, 'metres above sea level');
  const sin2 = Math.sin((latitude_deg * Math.PI) / 180) ** 2;
  const at_sea = (EQUATOR_m_s2 * (1 + K * sin2)) / Math.sqrt(1 - E2 * sin2);
  return at_sea * (1 - (2 / A_m) * (1 + F + M - 2 * F * sin2) * height_m + (3 * height_m ** 2) / A_m ** 2);
}

/** Mountains and what lies under the ground, at sea level: 30 to 50 mGal are usual (common practice, no source). */
const ANOMALY_m_s2 = 5e-4;
/** The rock between sea level and the place pulls too, by up to 0.1119 mGal a metre (slab of 2670 kg/m3: 2 pi G rho); the formula has free air there. */
const SLAB_per_s2 = 1.119e-6;

/** Standard uncertainty of gravity_m_s2 as the gravity of a place: 51 ppm at sea level, 84 ppm at 1000 m. A figure of the survey for the place is better. */
export function u_gravity_m_s2(height_m = 0): number {
  return Math.hypot(ANOMALY_m_s2, (SLAB_per_s2 * height_m) / Math.sqrt(3));
}

import { describe, expect, it } from 'vitest';

import { gravity_m_s2, STANDARD_GRAVITY_m_s2, u_gravity_m_s2 } from '../../host/sense/physics/gravity.js';

/** WGS 84 (NIMA TR8350.2, NGA.STND.0036): equator and pole as published; the others by a public implementation of its closed form and second-order height. */
describe('normal gravity, WGS 84', () => {
  it.each([
    [0, 0, 9.7803253359, 10],
    [90, 0, 9.8321849378, 9],
    [10, 0, 9.781882400630266, 10],
    [45, 0, 9.80619776937321, 9],
    [10, 1000, 9.778795562804849, 8],
    [30, 100, 9.792938614507834, 8],
  ])('at %d deg and %d m: %d m/s2', (latitude_deg, height_m, published_m_s2, digits) => {
    expect(gravity_m_s2(latitude_deg, height_m)).toBeCloseTo(published_m_s2, digits);
    expect(gravity_m_s2(-latitude_deg, height_m)).toBe(gravity_m_s2(latitude_deg, height_m));
  });

  it('falls by 0.3086 mGal a metre near the ground (the usual free-air figure)', () => {
    expect((gravity_m_s2(45, 100) - gravity_m_s2(45)) / 100).toBeCloseTo(-3.086e-6, 8);
  });

  it('is not 9.80665 anywhere by chance: 46 ppm less at 45 degrees, 0.27 % less at the equator', () => {
    expect(gravity_m_s2(45) / STANDARD_GRAVITY_m_s2 - 1).toBeCloseTo(-46e-6, 6);
    expect(gravity_m_s2(0) / STANDARD_GRAVITY_m_s2 - 1).toBeCloseTo(-0.0027, 4);
  });

  it('holds for known places within its uncertainty', () => {
    // Gravity as surveyed, from memory: Potsdam, Sevres, Denver.
    const places = [[52.38, 87, 9.8126], [48.83, 66, 9.80926], [39.75, 1639, 9.79607]] as const;
    for (const [latitude_deg, height_m, surveyed] of places) {
      expect(Math.abs(gravity_m_s2(latitude_deg, height_m) - surveyed)).toBeLessThan(2 * u_gravity_m_s2(height_m));
    }
    expect(u_gravity_m_s2(1000) / 9.8).toBeLessThan(1e-4);
  });

  it.each([
    [91, 0],
    [0, 10_000],
    [Number.NaN, 0],
  ])('refuses %d deg, %d m', (latitude_deg, height_m) => {
    expect(() => gravity_m_s2(latitude_deg, height_m)).toThrow('it must be from');
  });
});

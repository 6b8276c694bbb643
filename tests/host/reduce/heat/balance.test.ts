import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { againstIdeal } from '../../../../host/reduce/heat/against_ideal.js';
import { heatBalance } from '../../../../host/reduce/heat/balance.js';
import { engineOf } from '../../../../host/reduce/ideal/geometry.js';
import type { Values } from '../../../../host/reduce/values/span_values.js';
import { measured, notMeasured } from '../../../../host/reduce/values/value.js';
import { expanded } from '../../../../host/sense/uncertainty/coverage.js';
import { u } from '../../../../host/sense/uncertainty/quantity.js';
import { random, systematic, valuesOf } from '../curve/made_points.js';

interface Seen {
  P?: number;
  Q?: number;
  heat?: number;
  hot?: number;
  cold?: number;
}
/** Power to 1 %, coolant heat to 3 %, heater to 0.7 %, hot end to 3 K, coolant to 0.2 K. */
const seen = ({ P = 1.1, Q = 38, heat = 60, hot = 320, cold = 22 }: Seen = {}): Values =>
  valuesOf({
    power_W: measured(random(P, 'W', Math.abs(P) * 0.01, 'power')),
    speed_rpm: measured(random(620, 'rpm', 0.01, 'speed')),
    heat_W: measured(systematic(Q, 'W', Math.abs(Q) * 0.03, 'flow')),
    heater_W: measured(systematic(heat, 'W', heat * 0.007, 'heater')),
    hot_C: measured(systematic(hot, 'C', 3, 'couple')),
    coolant_in_C: measured(systematic(cold, 'C', 0.2, 'thermistors')),
    coolant_out_C: measured(systematic(cold + 3, 'C', 0.2, 'thermistors')),
  });

describe('the heat balance', () => {
  it('brackets the efficiency between what the heater gave and what came out', () => {
    const b = heatBalance(seen(), true);
    expect(b.source).toBe('heater');
    expect(b.faults).toEqual([]);
    expect(b.unaccounted_W.quantity?.value).toBeCloseTo(20.9, 10);
    expect(b.unaccounted_share.quantity?.value).toBeCloseTo(20.9 / 60, 10);
    expect(b.efficiency_least.quantity?.value).toBeCloseTo(1.1 / 60, 10);
    expect(b.efficiency_most.quantity?.value).toBeCloseTo(1.1 / 39.1, 10);
    expect(b.carnot_efficiency.quantity?.value).toBeCloseTo(1 - 295.15 / 593.15, 10);
    expect(b.carnot_share.quantity?.value).toBeCloseTo(1.1 / 60 / (1 - 295.15 / 593.15), 10);
    expect(b.conditions.join()).toMatch(/heater losses.*jacket.*pump.*Carnot/);
    expect(b.verified).toBe(true);
  });

  it('carries the doubt of each, and what they share once', () => {
    const b = heatBalance(seen(), true);
    const [P, Q, all] = [1.1, 38, 39.1];
    const of = (v: { quantity: { value: number } | null }): number => u(v.quantity as Parameters<typeof u>[0]);
    expect(of(b.unaccounted_W)).toBeCloseTo(Math.hypot(0.011, 1.14, 0.42), 10);
    expect(of(b.efficiency_most)).toBeCloseTo(Math.hypot((Q / all ** 2) * 0.011, (P / all ** 2) * 1.14), 10);
    // Heat in counts in the numerator and below it: the share moves by (P + Q) / in^2.
    expect(of(b.unaccounted_share)).toBeCloseTo(Math.hypot((39.1 / 60) * 0.007, 0.011 / 60, 1.14 / 60), 10);
  });

  it('takes weighed fuel for heat in, and says what is missing', () => {
    const fuel = { ...seen(), heater_W: notMeasured('no heater_V was entered'), fuel_W: measured(systematic(200, 'W', 4, 'fuel')) };
    expect(heatBalance(fuel, true)).toMatchObject({ source: 'fuel', faults: [] });
    expect(heatBalance(fuel, true).conditions.join()).toContain('lower heating value');
    const none = heatBalance({ ...seen(), heater_W: notMeasured('no heater_V was entered') }, true);
    expect(none).toMatchObject({ source: 'none', efficiency_least: { quantity: null }, unaccounted_W: { quantity: null }, verified: false });
    expect(none.efficiency_most.quantity?.value).toBeCloseTo(1.1 / 39.1, 10);
    expect(none.heat_in_W.reason).toContain('fuel_LHV_MJ_kg');
    expect(heatBalance(seen(), false).conditions.join()).toContain('not steady');
    expect(heatBalance(seen(), false).verified).toBe(false);
  });

  it('calls what cannot be a fault, names what to look at, and gives no result that rests on it', () => {
    const cases: [Seen, string, (keyof ReturnType<typeof heatBalance>)[], RegExp][] = [
      [{ Q: 70 }, 'more_out_than_in', ['unaccounted_W', 'unaccounted_share', 'efficiency_least', 'efficiency_most'], /bucket/],
      [{ P: 20, Q: 12 }, 'above_carnot', ['efficiency_most', 'carnot_share'], /couple/],
      [{ P: 130, Q: 400, heat: 100 }, 'efficiency_above_1', ['efficiency_least'], /magnets/],
      [{ Q: -8 }, 'coolant_cooled', ['efficiency_most', 'unaccounted_W'], /exchanged/],
      [{ hot: 5 }, 'hot_end_cold', ['carnot_efficiency', 'carnot_share'], /legs/],
      [{ P: -0.5 }, 'negative_power', ['efficiency_least', 'efficiency_most'], /check mass/],
    ];
    for (const [s, what, spoiled, look] of cases) {
      const b = heatBalance(seen(s), true);
      const fault = b.faults.find((f) => f.what === what);
      expect([what, fault?.what]).toEqual([what, what]);
      expect(fault?.look_at.join()).toMatch(look);
      for (const name of spoiled) expect([what, name, b[name]]).toMatchObject([what, name, { quantity: null, reason: 'no result: the instruments contradict each other, see the fault' }]);
      expect(b.verified).toBe(false);
    }
  });

  it('does not call a fault what lies within the doubt', () => {
    // 2 W too much come out, known to 2.4 W.
    expect(heatBalance(seen({ Q: 60.5, heat: 60 }), true).faults).toEqual([]);
    fc.assert(
      fc.property(fc.double({ min: 0.2, max: 9, noNaN: true }), fc.double({ min: 60, max: 200, noNaN: true }), fc.double({ min: 0, max: 0.6, noNaN: true }), (P, Q, lost) => {
        const b = heatBalance(seen({ P, Q, heat: (P + Q) / (1 - lost), hot: 400 }), true);
        expect(b.faults).toEqual([]);
        const [least, most, carnot] = [b.efficiency_least, b.efficiency_most, b.carnot_efficiency].map((v) => v.quantity?.value ?? NaN) as [number, number, number];
        expect(least).toBeLessThanOrEqual(most * (1 + 1e-12));
        expect(most).toBeLessThan(carnot);
      }),
      { seed: 7, numRuns: 100 },
    );
  });
});

describe('beside the ideal cycle', () => {
  const told = { kind: 'gamma', hot: { bore_mm: 60, stroke_mm: 21.2 }, cold: { swept_cm3: 22 }, phase_deg: 90, hot_dead_cm3: 6, cold_dead_cm3: 9, regenerator_cm3: 4 };
  const barometer = { name: 'barometer_hPa', value: 1000, u: 1.2, unit: 'hPa', age_s: 600, entered_id: 3 };

  it('has Beale\'s and West\'s numbers with the volume named, and a ceiling with its doubt', () => {
    const a = againstIdeal(seen(), engineOf(told, 'engine.json'), [barometer]);
    const beale = 1.1 / (1e5 * 22e-6 * (620 / 60));
    expect(a.beale_number.quantity?.value).toBeCloseTo(beale, 12);
    expect(a.west_number.quantity?.value).toBeCloseTo((beale * (593.15 + 296.65)) / (593.15 - 296.65), 12);
    expect(a.swept_says).toBe('power piston, 22.00 cm3');
    expect(a.flags).toEqual([]);
    const share = a.ideal_share.quantity;
    expect(share?.value).toBeGreaterThan(0.05);
    expect(share?.value).toBeLessThan(0.6);
    // The couple's 3 K of 296 K, and the power's 1 %.
    expect(expanded(share ?? { value: 0, unit: '', parts: [] }).U / (share?.value ?? NaN)).toBeGreaterThan(0.02);
  });

  it('flags numbers that no engine has, and asks for a pressure', () => {
    const a = againstIdeal(seen({ P: 9 }), engineOf(told, 'engine.json'), [barometer]);
    expect(a.flags).toHaveLength(3);
    expect(a.flags.join()).toMatch(/Beale.*0\.15.*power piston.*West.*0\.35.*ideal cycle/);
    expect(againstIdeal(seen(), engineOf(told, 'engine.json'), []).beale_number.reason).toContain('barometer_hPa');
    expect(againstIdeal(seen(), engineOf({ ...told, mean_pressure_kPa: 200 }, 'engine.json'), []).beale_number.quantity?.value).toBeCloseTo(1.1 / (2e5 * 22e-6 * (620 / 60)), 12);
  });

  it('refuses geometry by key, value and limit', () => {
    const cases: [unknown, string][] = [
      [[], 'one object'],
      [{ ...told, kind: 'delta' }, 'kind is "delta": it must be alpha, beta, gamma'],
      [{ ...told, phase: 90 }, 'no key phase'],
      [{ ...told, hot: { bore_mm: 60 } }, 'hot.stroke_mm is missing'],
      [{ ...told, regenerator_cm3: -1 }, 'regenerator_cm3 is -1: it must be a number from 0'],
      [{ ...told, cold: 22 }, 'cold is 22'],
    ];
    for (const [t, why] of cases) expect(() => engineOf(t, 'e.json')).toThrow(why);
  });
});

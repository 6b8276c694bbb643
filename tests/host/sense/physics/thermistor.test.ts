import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { ohmPerRatio, ratioOfThermistor, selfHeating_W, thermistorOfRatio_ohm, type Divider } from '../../../../host/sense/physics/divider.js';
import {
  betaThrough,
  curveOfBeta,
  curveOfTable,
  curveThroughThree,
  thermistor_C,
  thermistor_ohm,
  thermistorSlope_K_per_ohm,
  type ThermistorCurve,
  type ThermistorPoint,
} from '../../../../host/sense/physics/thermistor.js';

const beta = curveOfBeta(3950, 10_000);
const steinhart = curveThroughThree([
  { t_C: 0, R_ohm: 31_770 },
  { t_C: 25, R_ohm: 10_000 },
  { t_C: 60, R_ohm: 2472 },
]);
/** A cubic that is not Steinhart's, as tables give. */
const cubic: ThermistorCurve = { a: [6.578231033735856e-4, 4.1503904864839127e-4, -2.279086903030758e-5, 1.032621811902215e-6] };
const curves = [
  ['beta', beta],
  ['Steinhart-Hart', steinhart],
  ['cubic', cubic],
] as const;
const point = (t_C: number, R_ohm: number): ThermistorPoint => ({ t_C, R_ohm });

describe.each(curves)('a thermistor by %s', (_, curve) => {
  it('finds its way back from any temperature', () => {
    fc.assert(
      fc.property(fc.double({ min: -40, max: 150, noNaN: true }), (t_C) => {
        expect(Math.abs(thermistor_C(curve, thermistor_ohm(curve, t_C)) - t_C)).toBeLessThan(1e-9);
      }),
      { seed: 4 },
    );
  });

  it('has the slope of its curve', () => {
    for (const R_ohm of [500, 3000, 10_000, 40_000]) {
      const slope = (thermistor_C(curve, R_ohm * 1.00001) - thermistor_C(curve, R_ohm * 0.99999)) / (R_ohm * 2e-5);
      expect(Math.abs(thermistorSlope_K_per_ohm(curve, R_ohm) / slope - 1)).toBeLessThan(1e-6);
      expect(slope).toBeLessThan(0);
    }
  });
});

describe('a thermistor', () => {
  it('by beta is right at its point, and beta comes back from two points', () => {
    expect(thermistor_C(beta, 10_000)).toBeCloseTo(25, 10);
    expect(betaThrough(point(25, 10_000), point(60, thermistor_ohm(beta, 60)))).toBeCloseTo(3950, 6);
    expect(betaThrough(point(60, thermistor_ohm(beta, 60)), point(25, 10_000))).toBeCloseTo(3950, 6);
  });

  it('through three points does not care for their order', () => {
    const turned = curveThroughThree([point(60, 2472), point(0, 31_770), point(25, 10_000)]);
    for (const [i, a] of steinhart.a.entries()) expect(turned.a[i]).toBe(a);
  });

  it('from a table gives back the cubic that wrote it', () => {
    const table = Array.from({ length: 21 }, (_, i) => point(5 * i, thermistor_ohm(cubic, 5 * i)));
    const found = curveOfTable(table);
    expect(found.residual_max_K).toBeLessThan(1e-9);
    for (const [i, a] of cubic.a.entries()) expect(Math.abs((found.a[i] ?? 0) / a - 1)).toBeLessThan(1e-6);
    expect(curveOfTable(table.slice(0, 4)).residual_sd_K).toBeNull();
  });

  it.each<[string, () => unknown]>([
    ['two at 25 C', () => curveThroughThree([point(25, 10_000), point(25, 9000), point(60, 2472)])],
    ['the resistance must fall as it gets warmer', () => curveThroughThree([point(0, 10_000), point(25, 31_770), point(60, 2472)])],
    ['the resistance must fall as it gets warmer', () => betaThrough(point(0, 10_000), point(25, 10_000))],
    // 25 C said to be at 31 kOhm: it falls, and no curve through them does.
    ['turns back between them', () => curveThroughThree([point(0, 31_770), point(25, 31_000), point(60, 2472)])],
    ['3 of them, 4 are needed', () => curveOfTable([point(0, 31_770), point(25, 10_000), point(60, 2472), point(90, 908)], 0, 60)],
    ['The resistance of a thermistor is -5 ohm: it must be above 0 ohm', () => thermistor_C(beta, -5)],
    ['The temperature of a thermistor at 0.001 ohm', () => thermistor_C(beta, 0.001)],
    ['The resistance of a thermistor is NaN', () => thermistor_C(beta, Number.NaN)],
    ['The beta of a thermistor is 0 K', () => curveOfBeta(0, 10_000)],
    ['it must be from', () => thermistor_ohm({ a: [3e-3, 1e-5, 0, 0] }, 300)],
  ])('refuses: %s', (why, act) => {
    expect(act).toThrow(why);
  });
});

describe.each<Divider>([
  { fixed_ohm: 10_000, fixed_to: 'supply' },
  { fixed_ohm: 4700, fixed_to: 'ground' },
])('a divider with its fixed resistor to $fixed_to', (divider) => {
  it('finds its way back, with the slope of its curve', () => {
    for (const R_ohm of [100, 3000, 10_000, 300_000]) {
      const ratio = ratioOfThermistor(R_ohm, divider);
      expect(thermistorOfRatio_ohm(ratio, divider)).toBeCloseTo(R_ohm, 6);
      const step = 1e-6 * ratio * (1 - ratio);
      const slope = (thermistorOfRatio_ohm(ratio + step, divider) - thermistorOfRatio_ohm(ratio - step, divider)) / (2 * step);
      expect(Math.abs(ohmPerRatio(ratio, divider) / slope - 1)).toBeLessThan(1e-6);
    }
  });

  it('reads a warmer thermistor lower only with its resistor to the supply', () => {
    const [warm, cold] = [ratioOfThermistor(5000, divider), ratioOfThermistor(20_000, divider)];
    expect(warm < cold).toBe(divider.fixed_to === 'supply');
  });

  it('takes no end of the range for a resistance', () => {
    for (const ratio of [0, 1, -0.1, Number.NaN]) expect(() => thermistorOfRatio_ohm(ratio, divider)).toThrow('above 0 and below 1');
  });
});

it('a divider of two equal resistors heats each by a quarter of U2/R', () => {
  expect(selfHeating_W(10_000, { fixed_ohm: 10_000, fixed_to: 'supply' }, 5)).toBeCloseTo(25 / 10_000 / 4, 12);
});

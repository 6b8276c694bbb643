import { coefficientQuantities } from '../../sense/calibration/model.js';
import type { Model } from '../../sense/calibration/model.js';
import { ratioOfThermistor } from '../../sense/physics/divider.js';
import { thermistor_C, thermistor_ohm } from '../../sense/physics/thermistor.js';
import { combine } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';

/** A model as a curve: what it makes of a raw number, with the doubt of its coefficients. */
export interface Curve {
  readonly raw: string;
  readonly unit: string;
  /** Raw numbers over the calibrated range, from one end to the other. */
  readonly over: readonly number[];
  /** null: none there. */
  value(raw: number): Quantity | null;
}

const SHARES = [0, 0.25, 0.5, 0.75, 1];
const over = (from: number, to: number): number[] => SHARES.map((s) => from + s * (to - from));

/** null: the channel has no curve (speed). */
export function curveOf(model: Model): Curve | null {
  if (model.kind === 'magnets') return null;
  const c = coefficientQuantities(model);
  const at = (k: number): number => c[k]?.value ?? 0;
  const linear = (unit: string, value: number, by: readonly number[]): Quantity => combine(value, unit, c.map((q, k) => [q, by[k] ?? 0] as const));
  switch (model.kind) {
    case 'torque':
    case 'force':
      return {
        raw: 'counts from zero',
        unit: model.unit,
        over: over(...model.x_range).map((x) => at(1) * x + at(2) * x * x),
        value: (d) => {
          const under = at(1) ** 2 + 4 * at(2) * d;
          if (!(under > 0)) return null;
          const x = (2 * d) / (at(1) + Math.sign(at(1)) * Math.sqrt(under));
          const slope = at(1) + 2 * at(2) * x;
          return linear(model.unit, x, [0, -x / slope, (-x * x) / slope]);
        },
      };
    case 'steinhart_hart':
    case 'table':
    case 'beta': {
      const a = [at(0), at(1), at(2), at(3)] as const;
      return {
        raw: 'ratio',
        unit: 'C',
        over: over(...model.range_C).map((t) => ratioOfThermistor(thermistor_ohm({ a }, t), model)),
        value: (ratio) => {
          const R = model.fixed_to === 'supply' ? (model.fixed_ohm * ratio) / (1 - ratio) : (model.fixed_ohm * (1 - ratio)) / ratio;
          const t = thermistor_C({ a }, R);
          return linear('C', t, SHARES.map((_, k) => -((t + 273.15) ** 2) * Math.log(R) ** k));
        },
      };
    }
    case 'pulses':
    case 'fixed':
      return { raw: 'Hz', unit: 'L/min', over: model.f_range_Hz === null ? [0] : over(...model.f_range_Hz), value: (f) => linear('L/min', at(0) + at(1) * f + at(2) * f * f, [1, f, f * f]) };
    case 'isothermal':
      return { raw: 'K', unit: 'K', over: [0], value: () => linear('K', -at(0), [-1]) };
    case 'type_k':
      return { raw: 'C by ITS-90', unit: 'C', over: [0, 100, 300, 600, 900], value: (t) => linear('C', t + at(0) + at(1) * t, [1, t]) };
  }
}

/** Beyond what a curve gives a temperature for, there is no value to compare. */
export function valueAt(curve: Curve, raw: number): Quantity | null {
  try {
    return curve.value(raw);
  } catch {
    return null;
  }
}

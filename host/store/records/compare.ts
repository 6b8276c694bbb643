import { coefficientQuantities } from '../../sense/calibration/model.js';
import type { Model } from '../../sense/calibration/model.js';
import { ratioOfThermistor } from '../../sense/physics/divider.js';
import { thermistor_C, thermistor_ohm } from '../../sense/physics/thermistor.js';
import { told } from '../../sense/uncertainty/budget.js';
import type { Told } from '../../sense/uncertainty/budget.js';
import { combine, difference, u } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';
import type { KeptCalibration } from './calibrations.js';

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

export interface ComparedAt {
  readonly raw: number;
  readonly a: number | null;
  readonly b: number | null;
  /** b less a. */
  readonly difference: number | null;
  /** Of the difference: what both share cancels. */
  readonly u_difference: number | null;
}

export interface Comparison {
  readonly a: number;
  readonly b: number;
  readonly unit: string | null;
  readonly raw: string | null;
  readonly coefficients: readonly { readonly k: number; readonly a: number | null; readonly b: number | null; readonly difference: number | null }[];
  readonly curve: readonly ComparedAt[];
  /** At the end of the range: each source's standard uncertainty, in the unit. */
  readonly budget: readonly { readonly source: string; readonly says: string; readonly u_a: number; readonly u_b: number }[];
}

/** What one version says and another does not, over the range of the first. */
export function compare(first: KeptCalibration, second: KeptCalibration): Comparison {
  const [one, two] = [curveOf(first.model), curveOf(second.model)];
  const [ca, cb] = [first.model, second.model].map((m) => ('coefficients' in m ? m.coefficients : []));
  const coefficients = Array.from({ length: Math.max(ca?.length ?? 0, cb?.length ?? 0) }, (_, k) => {
    const [a = null, b = null] = [ca?.[k], cb?.[k]];
    return { k, a, b, difference: a === null || b === null ? null : b - a };
  });
  const common = { a: first.cal_id, b: second.cal_id, coefficients };
  if (one === null || two === null || one.unit !== two.unit) return { ...common, unit: null, raw: null, curve: [], budget: [] };
  const curve = one.over.map((raw): ComparedAt => {
    const [a, b] = [valueAt(one, raw), valueAt(two, raw)];
    const off = a === null || b === null ? null : difference(b, a);
    return { raw, a: a?.value ?? null, b: b?.value ?? null, difference: off?.value ?? null, u_difference: off === null ? null : u(off) };
  });
  const end = one.over.at(-1) ?? 0;
  return { ...common, unit: one.unit, raw: one.raw, curve, budget: budgets(valueAt(one, end), valueAt(two, end)) };
}

/** What a curve gives at the end of its range, with its budget; null: it has none there. */
export function toldAtEnd(model: Model): (Told & { readonly raw: number }) | null {
  const curve = curveOf(model);
  const raw = curve?.over.at(-1) ?? 0;
  const value = curve === null ? null : valueAt(curve, raw);
  return value === null ? null : { ...told(value), raw };
}

/** Beyond what a curve gives a temperature for, there is no value to compare. */
function valueAt(curve: Curve, raw: number): Quantity | null {
  try {
    return curve.value(raw);
  } catch {
    return null;
  }
}

function budgets(a: Quantity | null, b: Quantity | null): Comparison['budget'] {
  const lines = new Map<string, { source: string; says: string; u_a: number; u_b: number }>();
  for (const [q, side] of [[a, 'u_a'], [b, 'u_b']] as const) {
    for (const { source, says, u: part } of q === null ? [] : told(q).budget) {
      const line = lines.get(source) ?? { source, says, u_a: 0, u_b: 0 };
      line[side] = part;
      lines.set(source, line);
    }
  }
  return [...lines.values()].sort((p, q) => Math.max(q.u_a, q.u_b) - Math.max(p.u_a, p.u_b));
}

import { tQuantile } from '../../sense/fit/distributions.js';
import { meanOf, squaresOf } from './scatter.js';

export const covariateNames = ['hot_C', 'coolant_in_C', 'room_C', 'barometer_hPa'] as const;
export type CovariateName = (typeof covariateNames)[number];

/** Conditions of one run; null: not measured. */
export type Conditions = Readonly<Record<CovariateName, number | null>>;

export interface Covariate {
  readonly name: CovariateName;
  /** Means over the runs of either side that have it; null: none has. */
  readonly a: number | null;
  readonly b: number | null;
  /** b less a, with its 95 % interval where both sides have two runs or more. */
  readonly difference: number | null;
  readonly interval95: readonly [number, number] | null;
  /** Share of power that this difference could explain, to first order; null: it is not in that form, or something is missing. */
  readonly could_explain: number | null;
}

export interface CovariateReport {
  readonly covariates: readonly Covariate[];
  /** All of them together, b over a less 1; an estimate, taken off nothing. null: temperatures are missing. */
  readonly could_explain: number | null;
  /** Both ends within EQUAL_hot_K and EQUAL_inlet_K; null: not known. */
  readonly equal_temperature: boolean | null;
  readonly says: string;
}

/** Hot ends and inlets so near count as equal: each explains below 1 % at 300 C (common practice, no source). */
export const EQUAL_hot_K = 3;
export const EQUAL_inlet_K = 1;
const KELVIN = 273.15;

/**
 * What differed in the conditions of two builds, and what that could do to power by P ~ p (Th - Tc) / (Th + Tc), the form of the
 * West number (C. D. West, Principles and Applications of Stirling Engines, 1986, from memory), for an engine at the pressure of
 * the air. To first order: dP/P = dp/p + 2 (Tc dTh - Th dTc) / (Th^2 - Tc^2). The room is in no such form: it is shown alone.
 */
export function covariates(a: readonly Conditions[], b: readonly Conditions[]): CovariateReport {
  const raw = covariateNames.map((name) => ({ name, a: present(a, name), b: present(b, name) }));
  const middle = (name: CovariateName): number | null => {
    const found = raw.find((r) => r.name === name);
    return found === undefined || found.a.length === 0 || found.b.length === 0 ? null : (meanOf(found.a) + meanOf(found.b)) / 2;
  };
  const [hot, cold, p] = [middle('hot_C'), middle('coolant_in_C'), middle('barometer_hPa')];
  const perUnit = slopes(hot, cold, p);
  const list = raw.map(({ name, a: xa, b: xb }): Covariate => {
    const [ma, mb] = [xa, xb].map((x) => (x.length === 0 ? null : meanOf(x))) as [number | null, number | null];
    const d = ma === null || mb === null ? null : mb - ma;
    const slope = perUnit[name];
    return { name, a: ma, b: mb, difference: d, interval95: d === null ? null : interval(xa, xb, d), could_explain: d === null || slope === null ? null : Math.expm1(slope * d) };
  });
  const of = (name: CovariateName): Covariate | undefined => list.find((c) => c.name === name);
  const [dHot, dCold] = [of('hot_C')?.difference ?? null, of('coolant_in_C')?.difference ?? null];
  const temperatures = list.filter((c) => c.name !== 'room_C' && c.could_explain !== null);
  return {
    covariates: list,
    could_explain: dHot === null || dCold === null ? null : temperatures.reduce((s, c) => s * (1 + (c.could_explain ?? 0)), 1) - 1,
    equal_temperature: dHot === null || dCold === null ? null : Math.abs(dHot) <= EQUAL_hot_K && Math.abs(dCold) <= EQUAL_inlet_K,
    says: 'an estimate by P ~ p (Th - Tc)/(Th + Tc), for an engine at the pressure of the air; nothing is corrected by it',
  };
}

function slopes(hot_C: number | null, cold_C: number | null, p_hPa: number | null): Readonly<Record<CovariateName, number | null>> {
  const bar = p_hPa === null ? null : 1 / p_hPa;
  if (hot_C === null || cold_C === null || hot_C <= cold_C) return { hot_C: null, coolant_in_C: null, room_C: null, barometer_hPa: bar };
  const [th, tc] = [hot_C + KELVIN, cold_C + KELVIN];
  const under = th * th - tc * tc;
  return { hot_C: (2 * tc) / under, coolant_in_C: (-2 * th) / under, room_C: null, barometer_hPa: bar };
}

const present = (runs: readonly Conditions[], name: CovariateName): number[] => runs.flatMap((r) => r[name] ?? []);

/** Welch's. */
function interval(a: readonly number[], b: readonly number[], d: number): readonly [number, number] | null {
  if (a.length < 2 || b.length < 2) return null;
  const [va, vb] = [a, b].map((x) => squaresOf(x) / (x.length - 1) / x.length) as [number, number];
  const v = va + vb;
  if (v === 0) return [d, d];
  const half = tQuantile(0.975, (v * v) / ((va * va) / (a.length - 1) + (vb * vb) / (b.length - 1))) * Math.sqrt(v);
  return [d - half, d + half];
}

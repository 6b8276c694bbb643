import { fail } from '../../errors.js';
import { limitsOverSd } from './source.js';
import type { Source } from './source.js';

/** What one source does to a quantity: its standard uncertainty times the sensitivity, signed, in the quantity's unit. */
export interface Part {
  readonly source: Source;
  readonly c_u: number;
}

/**
 * A value with every source of its uncertainty. Sums of squares of `c_u` are its variance, sums of products with another
 * quantity's their covariance, since sources are independent (JCGM 100:2008, 5.1 and F.1.2.3).
 */
export interface Quantity {
  readonly value: number;
  /** Of the value, as in the names: 'Nm', 'N', 'K', 'C', 'W', 'rpm', 'count'. */
  readonly unit: string;
  /** No two of one source. */
  readonly parts: readonly Part[];
}

export function exact(value: number, unit: string): Quantity {
  return quantity(value, unit, []);
}

/** @throws INTERNAL where a number is none: an uncertainty that is NaN must not pass for a small one */
export function quantity(value: number, unit: string, parts: readonly Part[]): Quantity {
  if (!Number.isFinite(value)) throw fail('INTERNAL', { reason: `a value in ${unit} is ${value}` });
  for (const { source, c_u } of parts) {
    if (!Number.isFinite(c_u)) throw fail('INTERNAL', { reason: `the uncertainty of a value in ${unit} from "${source.says}" is ${c_u}` });
  }
  return { value, unit, parts: parts.filter((p) => p.c_u !== 0) };
}

type Told = Omit<Source, 'shape' | 'dof'>;

/** A value with one standard uncertainty that is taken as known. */
export function known(value: number, unit: string, u: number, source: Told): Quantity {
  return quantity(value, unit, [{ source: { ...source, shape: 'normal', dof: Infinity }, c_u: u }]);
}

/** A value that lies within `half` of the one told, as a class or a data sheet says (JCGM 100:2008, 4.3.7 to 4.3.9). */
export function within(value: number, unit: string, half: number, source: Told, shape: 'rectangular' | 'triangular' | 'arcsine' = 'rectangular'): Quantity {
  return quantity(value, unit, [{ source: { ...source, shape, dof: Infinity }, c_u: half / limitsOverSd[shape] }]);
}

/** A mean with the standard uncertainty that its own `dof` + 1 readings show (JCGM 100:2008, 4.2). */
export function estimated(value: number, unit: string, u: number, dof: number, source: Told): Quantity {
  return quantity(value, unit, [{ source: { ...source, shape: 'student', dof }, c_u: u }]);
}

/**
 * A result of other quantities, to first order (JCGM 100:2008, 5.1.2 and 5.2.2).
 *
 * @param terms each quantity with the derivative of the result with respect to it
 */
export function combine(value: number, unit: string, terms: readonly (readonly [Quantity, number])[]): Quantity {
  const sums = new Map<string, { source: Source; c_u: number }>();
  for (const [q, derivative] of terms) {
    for (const { source, c_u } of q.parts) {
      const sum = sums.get(source.id);
      if (sum === undefined) sums.set(source.id, { source, c_u: derivative * c_u });
      else sum.c_u += derivative * c_u;
    }
  }
  return quantity(value, unit, [...sums.values()]);
}

/** a + b, a - b: of one unit. */
export const sum = (a: Quantity, b: Quantity): Quantity => combine(a.value + b.value, a.unit, [[a, 1], [b, 1]]);
export const difference = (a: Quantity, b: Quantity): Quantity => combine(a.value - b.value, a.unit, [[a, 1], [b, -1]]);
export const scaled = (a: Quantity, factor: number, unit: string): Quantity => combine(a.value * factor, unit, [[a, factor]]);
export const product = (a: Quantity, b: Quantity, unit: string): Quantity => combine(a.value * b.value, unit, [[a, b.value], [b, a.value]]);
export const ratio = (a: Quantity, b: Quantity, unit: string): Quantity =>
  combine(a.value / b.value, unit, [[a, 1 / b.value], [b, -a.value / b.value ** 2]]);

/** The same value, with further sources on it. */
export const also = (q: Quantity, ...errors: readonly Quantity[]): Quantity => combine(q.value, q.unit, [[q, 1], ...errors.map((e) => [e, 1] as const)]);

/** Variance of what `keep` holds for; of all without it. */
export function variance(q: Quantity, keep: (source: Source) => boolean = () => true): number {
  return q.parts.reduce((s, { source, c_u }) => (keep(source) ? s + c_u * c_u : s), 0);
}

/** Combined standard uncertainty. */
export const u = (q: Quantity): number => Math.sqrt(variance(q));
export const u_systematic = (q: Quantity): number => Math.sqrt(variance(q, (s) => s.kind === 'systematic'));
export const u_random = (q: Quantity): number => Math.sqrt(variance(q, (s) => s.kind === 'random'));

export function covariance(a: Quantity, b: Quantity): number {
  const ofB = new Map(b.parts.map((p) => [p.source.id, p.c_u]));
  return a.parts.reduce((s, { source, c_u }) => s + c_u * (ofB.get(source.id) ?? 0), 0);
}

/** -1 to 1; 0 where one of them is exact. */
export function correlation(a: Quantity, b: Quantity): number {
  const both = u(a) * u(b);
  return both === 0 ? 0 : covariance(a, b) / both;
}

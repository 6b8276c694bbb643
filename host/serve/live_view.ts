import { expanded } from '../sense/uncertainty/coverage.js';
import { u } from '../sense/uncertainty/quantity.js';
import type { Quantity } from '../sense/uncertainty/quantity.js';
import type { ValueView } from './bench.js';

/** A value on its way to being shown: with what others are worked out from. */
export interface Shown {
  readonly quantity: Quantity | null;
  readonly view: ValueView;
}

const without = (state: 'uncalibrated' | 'not_measured', reason: string): Shown => ({ quantity: null, view: { state, value: null, u: null, U95: null, reason } });
export const notMeasured = (reason: string | null): Shown => without('not_measured', reason ?? 'not measured');
export const uncalibrated = (reason: string): Shown => without('uncalibrated', reason);

/** @param lacks what would have to be there for it to count as verified */
export function shown(quantity: Quantity, lacks: readonly string[] = []): Shown {
  const view = { value: quantity.value, u: u(quantity), U95: expanded(quantity).U };
  return { quantity, view: lacks.length === 0 ? { state: 'measured', ...view, reason: null } : { state: 'unverified', ...view, reason: lacks.join('; ') } };
}

/** Of what is worked out from others: what the first that is none says; else what any of them lacks. */
export function from(parts: readonly Shown[], result: (...q: Quantity[]) => Quantity): Shown {
  const missing = parts.find((p) => p.quantity === null);
  if (missing !== undefined) return missing;
  const lacks = new Set(parts.flatMap((p) => (p.view.reason === null ? [] : [p.view.reason])));
  return shown(result(...parts.map((p) => p.quantity as Quantity)), [...lacks]);
}

import type { Model } from '../../sense/calibration/model.js';
import { told } from '../../sense/uncertainty/budget.js';
import type { Told } from '../../sense/uncertainty/budget.js';
import { difference, u } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';
import type { KeptCalibration } from './calibrations.js';
import { curveOf, valueAt } from './model_curve.js';
import { movedBetween, movedText, scatterBetween } from './moved.js';
import type { Moved, Scattered } from './moved.js';

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
  /** What changed, and whether it is more than their doubt, in a sentence or two. */
  readonly says: string;
  /** When each was made, UTC. */
  readonly made: { readonly a: string; readonly b: string };
  readonly moved: Moved | null;
  readonly scatter: Scattered | null;
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
  const made = ({ made_utc_us }: KeptCalibration): string => new Date(made_utc_us / 1000).toISOString();
  const moved = first.channel === second.channel ? movedBetween(first, second) : null;
  const common = { a: first.cal_id, b: second.cal_id, says: movedText(first, second), made: { a: made(first), b: made(second) }, moved, scatter: scatterBetween(first.model, second.model), coefficients };
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

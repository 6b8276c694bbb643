import { dof, expanded } from './coverage.js';
import type { Expanded } from './coverage.js';
import { u, u_random, u_systematic, variance } from './quantity.js';
import type { Quantity } from './quantity.js';
import type { Shape, SourceKind } from './source.js';

/** One line: sources of one estimate stand together, since a person sees one cause. */
export interface BudgetLine {
  readonly source: string;
  readonly says: string;
  readonly kind: SourceKind;
  readonly shape: Shape;
  readonly dof: number;
  /** What it does to the result: standard uncertainty, in the result's unit. */
  readonly u: number;
  /** Of the result's variance, 0 to 1; they add to 1. */
  readonly share: number;
  readonly cure: string | null;
}

/** A quantity as it is told, printed and kept: no function in it, plain JSON. dof null: as good as infinite. */
export interface Told {
  readonly value: number;
  readonly unit: string;
  readonly u: number;
  readonly u_systematic: number;
  readonly u_random: number;
  readonly dof: number | null;
  readonly U95: number;
  readonly k95: number;
  readonly rule: Expanded['rule'];
  readonly budget: readonly (Omit<BudgetLine, 'dof'> & { readonly dof: number | null })[];
}

/** Largest first. */
export function budget(q: Quantity): BudgetLine[] {
  const total = variance(q);
  const lines = new Map<string, Omit<BudgetLine, 'u' | 'share'> & { variance: number }>();
  for (const { source, c_u } of q.parts) {
    const id = source.estimate ?? source.id;
    const line = lines.get(id);
    if (line === undefined) {
      const { says, kind, shape, dof: nu, cure = null } = source;
      lines.set(id, { source: id, says, kind, shape, dof: nu, cure, variance: c_u * c_u });
    } else line.variance += c_u * c_u;
  }
  return [...lines.values()]
    .map(({ variance: v, ...line }) => ({ ...line, u: Math.sqrt(v), share: total === 0 ? 0 : v / total }))
    .sort((a, b) => b.u - a.u);
}

export function told(q: Quantity): Told {
  const nu = dof(q);
  const { U, k, rule } = expanded(q, 0.95);
  return {
    value: q.value,
    unit: q.unit,
    u: u(q),
    u_systematic: u_systematic(q),
    u_random: u_random(q),
    dof: finite(nu),
    U95: U,
    k95: k,
    rule,
    budget: budget(q).map((line) => ({ ...line, dof: finite(line.dof) })),
  };
}

const finite = (x: number): number | null => (Number.isFinite(x) ? x : null);

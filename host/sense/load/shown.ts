import { meanOf, sumOf } from '../fit/sums.js';
import { inOrder } from './point.js';
import type { Direction, LoadPoint } from './point.js';

/** What points show besides their curve. Residuals are counts measured less fitted, so that unequal loads can be compared. */

export interface Residual extends LoadPoint {
  readonly residual: number;
}

/** Up and down at equal loads, or one of them interpolated where they differ. */
export interface Loop {
  /** Down less up, where both are known, by rising load; none at the load where up turned into down. */
  readonly at: readonly { readonly load: number; readonly count: number }[];
  /** Greatest by size, with its sign. */
  readonly max_count: number;
  readonly mean_count: number;
  readonly at_load: number;
}

/** null without loads that were reached both ways. */
export function loopOf(points: readonly Residual[]): Loop | null {
  const up = curveOf(points, 'up');
  const down = curveOf(points, 'down');
  const loads = new Set([...up, ...down].map((p) => p.load));
  const top = Math.max(...[...loads].map(Math.abs));
  const at = [...loads]
    .filter((load) => load !== 0 && Math.abs(load) < top)
    .flatMap((load) => {
      const [a, b] = [interpolated(up, load), interpolated(down, load)];
      return a === null || b === null ? [] : [{ load, count: b - a }];
    })
    .sort((a, b) => a.load - b.load);
  if (at.length === 0) return null;
  const greatest = at.reduce((m, p) => (Math.abs(p.count) > Math.abs(m.count) ? p : m));
  return { at, max_count: greatest.count, mean_count: meanOf(at.map((p) => p.count)), at_load: greatest.load };
}

interface Node {
  readonly load: number;
  readonly residual: number;
}

/** Mean residual of each load that was reached this way. */
function curveOf(points: readonly Residual[], direction: Direction): Node[] {
  const groups = grouped(points.filter((p) => p.direction === direction), (p) => p.load);
  return [...groups].map(([load, group]) => ({ load, residual: meanOf(group.map((p) => p.residual)) })).sort((a, b) => a.load - b.load);
}

function interpolated(nodes: readonly Node[], load: number): number | null {
  const above = nodes.findIndex((p) => p.load >= load);
  const [low, high] = [nodes[above - 1], nodes[above]];
  if (high === undefined) return null;
  if (high.load === load) return high.residual;
  if (low === undefined) return null;
  return low.residual + ((high.residual - low.residual) * (load - low.load)) / (high.load - low.load);
}

/** Scatter of loads other than nothing that were hung again in the same direction; null: none was. */
export function repeatabilityOf(points: readonly LoadPoint[]): { readonly sd_count: number; readonly dof: number } | null {
  const groups = [...grouped(points.filter((p) => p.load !== 0), (p) => `${p.load} ${p.direction ?? ''}`).values()].filter((g) => g.length > 1);
  const dof = sumOf(groups.map((g) => g.length - 1));
  if (dof === 0) return null;
  const squares = groups.flatMap((g) => {
    const mean = meanOf(g.map((p) => p.count));
    return g.map((p) => (p.count - mean) ** 2);
  });
  return { sd_count: Math.sqrt(sumOf(squares) / dof), dof };
}

/** Last reading without a load less the first; null with fewer than two. */
export function zeroReturnOf(points: readonly LoadPoint[]): number | null {
  const zeros = inOrder(points).filter((p) => p.load === 0);
  const [first, last] = [zeros[0], zeros.at(-1)];
  return first === undefined || last === undefined || zeros.length < 2 ? null : last.count - first.count;
}

/** The longest time that one load was left hanging between two readings, and what the count did in it; null where no times are told. */
export function creepOf(points: readonly LoadPoint[]): { readonly count: number; readonly over_s: number; readonly load: number } | null {
  const order = inOrder(points);
  const held = order.flatMap((p, i) => {
    const before = order[i - 1];
    if (before === undefined || p.load === 0 || before.load !== p.load) return [];
    const over_s = (p.t_s ?? NaN) - (before.t_s ?? NaN);
    return over_s > 0 ? [{ count: p.count - before.count, over_s, load: p.load }] : [];
  });
  return held.length === 0 ? null : held.reduce((m, h) => (h.over_s > m.over_s ? h : m));
}

function grouped<T, K>(items: readonly T[], keyOf: (item: T) => K): Map<K, T[]> {
  const groups = new Map<K, T[]>();
  for (const item of items) {
    const key = keyOf(item);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [item]);
    else group.push(item);
  }
  return groups;
}

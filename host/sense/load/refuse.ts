import { fail } from '../../errors.js';
import { inOrder } from './point.js';
import type { LoadPoint } from './point.js';

/** What points must keep to before anything is fitted. */
export interface PointTerms {
  /** guided: at least 3 different loads besides nothing. points: what the degree needs, which the fit sees to. */
  readonly purpose: 'guided' | 'points';
  /** Greatest load that the cell is rated for, in the unit of the loads; null: not told. */
  readonly capacity: number | null;
  /** What the builder declared: counts rise (1) or fall (-1) with the load; null: not declared. */
  readonly sign: 1 | -1 | null;
}

const COUNT_MAX = 2 ** 23 - 1;
const COUNT_MIN = -(2 ** 23);
const LOADS_LEAST = 3;

const unfit = (why: string, todo: string) => fail('LOAD_UNFIT', { why, todo });

/** @throws LOAD_UNFIT with the reason and what to do */
export function demandPoints(points: readonly LoadPoint[], terms: PointTerms): void {
  if (points.length === 0) throw unfit('there are none', 'hang nothing and at least three known masses, one after the other');
  for (const [i, p] of points.entries()) demandPoint(p, i + 1, terms);
  const loads = new Set(points.map((p) => p.load));
  if (loads.size === 1) throw unfit(`all loads are ${points[0]?.load ?? ''}`, 'hang different masses, and nothing at least once');
  if (new Set(points.map((p) => p.count)).size === 1) throw unfit(`all counts are ${points[0]?.count ?? ''}`, 'the reading is stuck: see to the wires of the cell and its converter');
  if (terms.purpose === 'guided') demandGuided(loads, points);
}

function demandPoint({ load, count }: LoadPoint, number: number, { purpose, capacity }: PointTerms): void {
  if (!Number.isFinite(load) || !Number.isFinite(count)) throw unfit(`point ${number} is ${load}, ${count}`, 'both must be numbers');
  const saturated = purpose === 'guided' ? count >= COUNT_MAX || count <= COUNT_MIN : count === COUNT_MAX || count === COUNT_MIN;
  if (saturated) throw unfit(`point ${number} reads ${count}, the end of the converter`, 'it is saturated: hang less, or see to the signal wires');
  if (capacity !== null && Math.abs(load) > capacity) throw unfit(`point ${number} has a load of ${load}, the cell is rated for ${capacity}`, 'hang less, or correct the capacity on the rig sheet');
}

function demandGuided(loads: ReadonlySet<number>, points: readonly LoadPoint[]): void {
  if (!loads.has(0)) throw unfit('no point is without a load', 'take a zero with nothing on the arm');
  if (loads.size - 1 < LOADS_LEAST) throw unfit(`${loads.size - 1} different loads besides zero`, `hang at least ${LOADS_LEAST} different ones`);
  if (points.some((p) => p.load < 0) && points.some((p) => p.load > 0)) throw unfit('loads of both signs', 'hang all masses on the side to which the brake pulls');
  const turned = inOrder(points).findIndex((p, i, all) => {
    const before = all[i - 1];
    if (before === undefined || p.direction === null || p.sequence === undefined || p.sequence === null) return false;
    const step = Math.abs(p.load) - Math.abs(before.load);
    return p.direction === 'up' ? step < 0 : step > 0;
  });
  if (turned < 0) return;
  const [before, p] = inOrder(points).slice(turned - 1, turned + 1);
  throw unfit(`${p?.load ?? ''} is called ${p?.direction ?? ''}, but it came after ${before?.load ?? ''}`, 'put loads on from least to greatest, then take them off from greatest to least');
}

/** @throws LOAD_UNFIT where the counts go the other way than was declared */
export function demandSign(slope: number, sign: 1 | -1 | null): void {
  if (sign === null || Math.sign(slope) === sign) return;
  throw unfit(
    `the count ${slope > 0 ? 'rises' : 'falls'} with the load, and it was declared to ${sign > 0 ? 'rise' : 'fall'}`,
    'hang the masses on the side to which the brake pulls, or swap the signal wires (A+, A-), or declare the cell the other way round',
  );
}

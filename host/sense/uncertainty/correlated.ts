import { fail } from '../../errors.js';
import { quantity } from './quantity.js';
import type { Part, Quantity } from './quantity.js';
import type { Source } from './source.js';

/**
 * Quantities that one fit or one set of readings gave together, from their covariance matrix: its Cholesky factor L
 * (covariance = L L') turns them into sums of independent sources of size 1, all of one estimate.
 *
 * @param values shape n, with the unit of each
 * @param matrix shape n x n, symmetric, no negative eigenvalue
 * @throws INTERNAL where the matrix is no covariance
 */
export function correlated(values: readonly { readonly value: number; readonly unit: string }[], matrix: readonly (readonly number[])[], source: Omit<Source, 'estimate'>): Quantity[] {
  const n = values.length;
  const at = (i: number, j: number): number => matrix[i]?.[j] ?? NaN;
  const L = values.map(() => new Float64Array(n));
  const rowOf = (i: number): Float64Array => L[i] as Float64Array;
  for (let j = 0; j < n; j++) {
    const left = at(j, j) - dot(rowOf(j), rowOf(j), j);
    if (!(left > -1e-9 * Math.abs(at(j, j)) || left === 0)) throw fail('INTERNAL', { reason: `"${source.says}" has no covariance: row ${j} leaves a variance of ${left}` });
    // What is left of a value that others determine is rounding.
    const pivot = left > 1e-14 * at(j, j) ? Math.sqrt(left) : 0;
    rowOf(j)[j] = pivot;
    for (let i = j + 1; i < n; i++) rowOf(i)[j] = pivot === 0 ? 0 : (at(i, j) - dot(rowOf(i), rowOf(j), j)) / pivot;
  }
  const sources = values.map((_, k): Source => ({ ...source, id: `${source.id} #${k}`, estimate: source.id }));
  return values.map(({ value, unit }, i) => quantity(value, unit, sources.map((s, k): Part => ({ source: s, c_u: rowOf(i)[k] ?? 0 }))));
}

function dot(a: Float64Array, b: Float64Array, n: number): number {
  let s = 0;
  for (let k = 0; k < n; k++) s += (a[k] ?? 0) * (b[k] ?? 0);
  return s;
}

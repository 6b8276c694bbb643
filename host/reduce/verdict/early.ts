import type { Plan } from './looks.js';
import { meanOf, pooledScatter } from './scatter.js';

/**
 * What is known of two builds as long as nothing tells how runs scatter, or one of them was not run: no chance and no interval
 * can be given. It has the names of a verdict, so that whoever reads one reads the other.
 */
export interface TooEarly {
  readonly word: 'cannot_tell';
  /** b over a, less 1; null: one of them has no run. */
  readonly difference: number | null;
  readonly interval95: null;
  readonly interval_of_plan: null;
  readonly margin: number;
  readonly n: readonly [number, number];
  readonly p: null;
  readonly level: null;
  readonly p_same: null;
  readonly level_same: null;
  readonly yardstick: null;
  /** Runs a side at the plan's first look: before it nothing is called. */
  readonly needed: number;
  readonly plan: Plan;
}

/**
 * @param a logarithms of the runs' results of either build
 * @param ledger the same of every other build, one list a build
 * @returns null where they can be compared
 */
export function tooEarly(a: readonly number[], b: readonly number[], ledger: readonly (readonly number[])[], plan: Plan, margin: number): TooEarly | null {
  const none = a.length === 0 || b.length === 0;
  if (!none && pooledScatter([a, b, ...ledger]) !== null) return null;
  return {
    word: 'cannot_tell', difference: none ? null : Math.expm1(meanOf(b) - meanOf(a)), interval95: null, interval_of_plan: null, margin,
    n: [a.length, b.length], p: null, level: null, p_same: null, level_same: null, yardstick: null, needed: plan.first_n, plan,
  };
}

import type { Plan } from './looks.js';

/** One look at two builds, as it is kept: which runs it was at. */
export interface Look {
  /** Runs on the smaller side. */
  readonly n: number;
  readonly run_ids: readonly number[];
  readonly utc_us: number;
  readonly word: string;
}

export interface LookCount {
  /** Number of this look, from 1; looking again at the very same runs is no further one. */
  readonly look: number;
  /** These runs were looked at before. */
  readonly again: boolean;
  /** Looks that the plan did not foresee, this one included: a second one at the same number of runs, or beyond the last. */
  readonly extra: number;
  /** Chance of a false call over all looks that were taken, at most: the plan's, and the level of each extra look. */
  readonly false_calls_most: number;
}

const key = (ids: readonly number[]): string => [...ids].sort((a, b) => a - b).join(' ');

/**
 * Counts the look that is about to be taken. Looks that were skipped cost nothing; a look at other runs of the same number
 * (one left out, one exchanged) is a further chance to be fooled.
 *
 * @param kept of the same builds and measure, oldest first
 * @param levels of the plan's looks, from first_n to last_n
 */
export function countLook(kept: readonly Pick<Look, 'n' | 'run_ids'>[], now: Pick<Look, 'n' | 'run_ids'>, plan: Plan, levels: readonly number[]): LookCount {
  const again = kept.some((l) => key(l.run_ids) === key(now.run_ids));
  const seen = new Set<string>();
  const taken = [...kept, now].filter((l) => !seen.has(key(l.run_ids)) && (seen.add(key(l.run_ids)), true));
  const planned = new Set<number>();
  let extra = 0;
  let spent = plan.alpha;
  for (const { n } of taken) {
    if (n < plan.first_n) continue;
    if (n <= plan.last_n && !planned.has(n)) {
      planned.add(n);
      continue;
    }
    extra++;
    spent += levels[Math.min(n, plan.last_n) - plan.first_n] ?? 0;
  }
  const place = taken.findIndex((l) => key(l.run_ids) === key(now.run_ids));
  return { look: place + 1, again, extra, false_calls_most: Math.min(1, spent) };
}

/** The list with this look in it; looking again changes nothing but what was said. */
export function withLook(kept: readonly Look[], now: Look): Look[] {
  return [...kept.filter((l) => key(l.run_ids) !== key(now.run_ids)), now].sort((a, b) => a.utc_us - b.utc_us);
}

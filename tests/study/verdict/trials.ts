import { compare, defaultPlan } from '../../../host/reduce/verdict/compare.js';
import type { Verdict } from '../../../host/reduce/verdict/compare.js';
import { normalsFrom, seeded } from '../../support/random.js';

/** Run-level scatter, in logarithms: strip, rebuild and another day. */
export const SCATTER = 0.03;
export const GAINS = [0, 0.02, 0.05, 0.1] as const;
/** Builds of the ledger and their runs: eight degrees of freedom. */
const LEDGER = [3, 3, 3, 3] as const;

export interface Counts {
  readonly gain: number;
  readonly ledger: boolean;
  readonly pairs: number;
  /** Runs added from 3 to 8 a side until something is called. */
  readonly better: number;
  readonly worse: number;
  readonly same: number;
  readonly cannot_tell: number;
  /** Runs a side when it stopped, on the mean. */
  readonly mean_n: number;
  /** better at the first look, 3 a side. */
  readonly better_at_first: number;
  /** same at 8 a side, looked at there alone. */
  readonly same_at_8: number;
  /** The 95 % interval of the difference held the truth, at 3 and at 8 a side. */
  readonly covered_3: number;
  readonly covered_8: number;
  /** Welch's test at 5 % after each of 3 to 6 runs: what looking without a plan does. */
  readonly unplanned: number;
}

/** All simulated: runs drawn as logarithmic normal, builds that differ by `gain`. */
export function trial(gain: number, withLedger: boolean, pairs: number, seed: number): Counts {
  const next = seeded(seed);
  const normal = normalsFrom(next);
  const run = (by: number): number => 1.3 * (1 + by) * Math.exp(SCATTER * normal());
  const runs = (n: number, by: number): number[] => Array.from({ length: n }, () => run(by));
  const counts = { better: 0, worse: 0, same: 0, cannot_tell: 0, n: 0, better_at_first: 0, same_at_8: 0, covered_3: 0, covered_8: 0, unplanned: 0 };
  const held = ({ interval95: [least, most] }: Verdict): number => Number(least <= gain && most >= gain);
  for (let pair = 0; pair < pairs; pair++) {
    const ledger = withLedger ? LEDGER.map((n) => runs(n, 0.4 * (next() - 0.5))) : [];
    const a = runs(defaultPlan.last_n, 0);
    const b = runs(defaultPlan.last_n, gain);
    const at = (n: number): Verdict => compare({ a: a.slice(0, n), b: b.slice(0, n), ledger });
    const first = at(defaultPlan.first_n);
    const last = at(defaultPlan.last_n);
    counts.better_at_first += Number(first.word === 'better');
    counts.same_at_8 += Number(last.word === 'same');
    counts.covered_3 += held(first);
    counts.covered_8 += held(last);
    let fooled = false;
    for (let n = defaultPlan.first_n; n <= 6 && !fooled; n++) fooled = compare({ a: a.slice(0, n), b: b.slice(0, n), ledger: [] }).p < 0.05;
    counts.unplanned += Number(fooled);
    for (let n = defaultPlan.first_n; n <= defaultPlan.last_n; n++) {
      const { word } = n === defaultPlan.first_n ? first : n === defaultPlan.last_n ? last : at(n);
      if (word === 'cannot_tell' && n < defaultPlan.last_n) continue;
      counts[word]++;
      counts.n += n;
      break;
    }
  }
  const { n, ...rest } = counts;
  const share = Object.fromEntries(Object.entries(rest).map(([name, count]) => [name, count / pairs])) as Omit<typeof rest, never>;
  return { gain, ledger: withLedger, pairs, ...share, mean_n: n / pairs };
}

export interface Rule {
  readonly rule: string;
  readonly value: number;
  readonly limit: string;
  readonly holds: boolean;
}

/** The five rules that a comparison is held to, at a scatter of 3 %. */
export function rulesOf(all: readonly Counts[]): Rule[] {
  const of = (gain: number, ledger: boolean): Counts => {
    const found = all.find((c) => c.gain === gain && c.ledger === ledger);
    if (found === undefined) throw new Error(`no trial of ${gain}`);
    return found;
  };
  const rule = (name: string, value: number, least: number, most: number): Rule => ({
    rule: name, value, limit: least <= 0 ? `<= ${(100 * most).toFixed(1)} %` : most >= 1 ? `>= ${(100 * least).toFixed(0)} %` : `${(100 * least).toFixed(0)}..${(100 * most).toFixed(0)} %`, holds: value >= least && value <= most,
  });
  const [alike, bare] = [of(0, true), of(0, false)];
  const wrong = Math.max(...all.filter((c) => c.gain >= 0.05).map((c) => c.worse));
  const covered = all.flatMap((c) => (c.ledger ? [c.covered_3, c.covered_8] : []));
  return [
    rule('(a) alike, called better or worse, with ledger', alike.better + alike.worse, 0, 0.06),
    rule('(a) the same without a ledger', bare.better + bare.worse, 0, 0.06),
    rule('(b) 10 % called at the first look, with ledger', of(0.1, true).better_at_first, 0.8, 1),
    rule('(c) wrong sign of 5 or 10 %', wrong, 0, 0.002),
    rule('(d) interval covers, least of 3 and 8 a side', Math.min(...covered), 0.94, 0.96),
    rule('(d) interval covers, most of them', Math.max(...covered), 0.94, 0.96),
    rule('(e) alike, called same within 5 % at 8 a side', alike.same_at_8, 0.8, 1),
    rule('(e) 5 % apart, called so', of(0.05, true).same_at_8, 0, 0.05),
  ];
}

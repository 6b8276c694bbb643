import { tCdf, tQuantile } from '../../sense/fit/distributions.js';
import { fail } from '../../errors.js';
import { tooEarly } from './early.js';
import type { TooEarly } from './early.js';
import { levels, z_of } from './looks.js';
import type { Plan } from './looks.js';
import { meanOf, plainlyDiffer, pooledScatter, squaresOf } from './scatter.js';
import type { Scatter } from './scatter.js';

export const defaultPlan: Plan = { first_n: 3, last_n: 8, alpha: 0.05 };
/** "same" means: within this share of each other. */
export const DEFAULT_MARGIN = 0.05;

export interface Question {
  /** Results of each run of either build, above 0 (such as peak power in W). */
  readonly a: readonly number[];
  readonly b: readonly number[];
  /** The same of every other build in the ledger, one list a build. */
  readonly ledger: readonly (readonly number[])[];
  readonly plan?: Plan;
  /** The builds count as the same where they lie within this share of each other. */
  readonly margin?: number;
  /** Standard uncertainty, as a share, of what does not cancel between the builds: such as a load cell that was calibrated anew in between. */
  readonly u_between?: number;
}

export type Word = 'better' | 'worse' | 'same' | 'cannot_tell';

export interface Verdict {
  /** Of b against a. same: within `margin`. */
  readonly word: Word;
  /** b over a, less 1. */
  readonly difference: number;
  /** Of the difference at 95 %, as if this were the only look; and widened for all looks of the plan. */
  readonly interval95: readonly [number, number];
  readonly interval_of_plan: readonly [number, number] | null;
  readonly margin: number;
  readonly n: readonly [number, number];
  /** Chance of a difference this large without any (two-sided), and the level that this look may call at; null before the first look. */
  readonly p: number;
  readonly level: number | null;
  /** The same for "same": the larger of both one-sided chances. */
  readonly p_same: number;
  readonly level_same: number | null;
  readonly yardstick: Scatter & { readonly from: 'ledger' | 'these runs' | 'welch' };
  /** Runs a side until a call is likely (80 %) if things are as they look now; null: more than the plan has. */
  readonly needed: number | null;
  readonly plan: Plan;
}

/** What can be said of two builds at any time: before there is a yardstick, what is known so far. @throws OUT_OF_RANGE for a result that is not above 0 */
export function judge(question: Question): Verdict | TooEarly {
  const { plan = defaultPlan, margin = DEFAULT_MARGIN } = question;
  return tooEarly(logs(question.a), logs(question.b), question.ledger.map(logs), plan, margin) ?? compare(question);
}

/**
 * Says of two builds what their runs can bear. Works on logarithms, so that a difference is a share. The yardstick is the
 * scatter from run to run pooled over both builds and the ledger; where the two builds' own scatters plainly differ, from
 * each other or from the ledger's, it is theirs alone, by Welch (B. L. Welch, Biometrika 34 (1947) 28).
 *
 * @throws OUT_OF_RANGE for a result that is not above 0, INTERNAL where it is too early for that (see judge)
 */
export function compare(question: Question): Verdict {
  const { plan = defaultPlan, margin = DEFAULT_MARGIN, u_between = 0 } = question;
  const a = logs(question.a);
  const b = logs(question.b);
  const ledger = question.ledger.map(logs);
  const n = Math.min(a.length, b.length);
  const { se, dof, yardstick } = standardError(a, b, ledger, u_between);
  const d = meanOf(b) - meanOf(a);
  const p = se === 0 ? (d === 0 ? 1 : 0) : 2 * (1 - tCdf(Math.abs(d) / se, dof));
  const edge = Math.log1p(margin);
  const p_same = se === 0 ? (Math.abs(d) < edge ? 0 : 1) : 1 - tCdf((edge - Math.abs(d)) / se, dof);
  const look = Math.min(n, plan.last_n) - plan.first_n;
  const of = levelsOf(plan);
  const level = of.differ[look] ?? null;
  const level_same = of.same[look] ?? null;
  const word: Word = level !== null && p <= level ? (d > 0 ? 'better' : 'worse') : level_same !== null && p_same <= level_same ? 'same' : 'cannot_tell';
  const interval = (alpha: number): readonly [number, number] => {
    const half = tQuantile(1 - alpha / 2, dof) * se;
    return [Math.expm1(d - half), Math.expm1(d + half)];
  };
  return {
    word,
    difference: Math.expm1(d),
    interval95: interval(0.05),
    interval_of_plan: level === null ? null : interval(level),
    margin,
    n: [a.length, b.length],
    p,
    level,
    p_same,
    level_same,
    yardstick,
    needed: word === 'cannot_tell' ? runsNeeded(n, Math.abs(d), edge, yardstick, u_between, plan) : n,
    plan,
  };
}

interface Error_ {
  readonly se: number;
  readonly dof: number;
  readonly yardstick: Verdict['yardstick'];
}

function standardError(a: readonly number[], b: readonly number[], ledger: readonly (readonly number[])[], u_between: number): Error_ {
  const own = pooledScatter([a, b]);
  const others = pooledScatter(ledger);
  const pooled = pooledScatter([a, b, ...ledger]);
  if (pooled === null || a.length === 0 || b.length === 0) throw fail('INTERNAL', { reason: `nothing tells how ${a.length} and ${b.length} runs scatter` });
  const sa = a.length < 2 ? null : { sd: Math.sqrt(squaresOf(a) / (a.length - 1)), dof: a.length - 1 };
  const sb = b.length < 2 ? null : { sd: Math.sqrt(squaresOf(b) / (b.length - 1)), dof: b.length - 1 };
  const unlike = (sa !== null && sb !== null && plainlyDiffer(sa, sb)) || (own !== null && others !== null && plainlyDiffer(own, others));
  if (sa !== null && sb !== null && (unlike || others === null)) {
    const va = sa.sd ** 2 / a.length;
    const vb = sb.sd ** 2 / b.length;
    const v = va + vb;
    const dof = v === 0 ? sa.dof + sb.dof : (v * v) / ((va * va) / sa.dof + (vb * vb) / sb.dof);
    return { se: Math.sqrt(v + u_between ** 2), dof: widened(dof, v, u_between), yardstick: { sd: own?.sd ?? pooled.sd, dof, from: 'welch' } };
  }
  const v = pooled.sd ** 2 * (1 / a.length + 1 / b.length);
  return { se: Math.sqrt(v + u_between ** 2), dof: widened(pooled.dof, v, u_between), yardstick: { ...pooled, from: others === null ? 'these runs' : 'ledger' } };
}

/** Degrees of freedom with a part that is taken as known (Welch and Satterthwaite, JCGM 100 G.4.1). */
const widened = (dof: number, v: number, u: number): number => (v === 0 ? dof : (dof * (v + u * u) ** 2) / (v * v));

const POWER = 0.8;

/** Normal in place of the noncentral t: it is a forecast from a few runs, good to a run. */
function runsNeeded(n: number, d: number, edge: number, { sd, dof }: Scatter, u_between: number, plan: Plan): number | null {
  const { differ, same } = levelsOf(plan);
  for (let m = Math.max(n + 1, plan.first_n); m <= plan.last_n; m++) {
    const se = Math.sqrt((2 * sd * sd) / m + u_between * u_between);
    const nu = dof + 2 * (m - n);
    const p = differ[m - plan.first_n] ?? 0;
    const p_same = same[m - plan.first_n] ?? 0;
    const seen = d / se - tQuantile(1 - p / 2, nu);
    // Equal builds look apart by chance: as likely on either side of the middle.
    const equal = (edge - d) / se - tQuantile(1 - p_same, nu);
    if (Math.max(seen, equal) >= z_of(POWER)) return m;
  }
  return null;
}

const remembered = new Map<string, { readonly differ: readonly number[]; readonly same: readonly number[] }>();

/** Level of each look from first_n to last_n, for a difference and for "same". The recursion takes a third of a second, and few plans are ever in use. */
export function levelsOf(plan: Plan): { readonly differ: readonly number[]; readonly same: readonly number[] } {
  const key = `${plan.first_n} ${plan.last_n} ${plan.alpha}`;
  const found = remembered.get(key) ?? { differ: levels(plan, 'constant', 2), same: levels(plan, 'late', 1) };
  remembered.set(key, found);
  return found;
}

function logs(values: readonly number[]): number[] {
  return values.map((value) => {
    if (!(value > 0 && Number.isFinite(value))) {
      throw fail('OUT_OF_RANGE', { what: 'a run\'s result', value, unit: '', limit: 'above 0', todo: 'leave that run out, with the reason, or see to its zero' });
    }
    return Math.log(value);
  });
}

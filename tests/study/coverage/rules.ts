/** One reading of one rig, held against what really was. */
export interface Trial {
  readonly quantity: string;
  /** Rigs of one kind differ only by what is drawn at random: their errors share one true distribution. */
  readonly kind: number;
  /** The rig breaks what the software assumes. */
  readonly broken: boolean;
  /** What is stated less what was. */
  readonly error: number;
  readonly u: number;
  readonly U95: number;
  /** The printed budget shows a rectangular line above half of u. */
  readonly rectangular: boolean;
  readonly load: number;
  readonly since_zero_h: number;
  readonly verified: boolean;
}

export interface Share {
  readonly n: number;
  readonly share: number;
  /** Standard error of the share (binomial). */
  readonly se: number;
}

/** null limits: too few to be judged by themselves. */
export interface Judged extends Share {
  readonly from: number | null;
  readonly to: number | null;
  readonly holds: boolean;
}

export interface Third extends Share {
  readonly by: 'u' | 'load' | 'since_zero_h';
  readonly third: 1 | 2 | 3;
  readonly sd_of_error_over_u: number;
  readonly rectangular_share: number;
  readonly holds: boolean;
}

export interface Findings {
  readonly quantity: string;
  readonly rigs: number;
  readonly rectangular_share: number;
  readonly coverage: Share;
  /** The same for budgets without and with a rectangular line above half of u: the interval of these may hold more than it says. */
  readonly plain: Judged;
  readonly by_limits: Judged;
  readonly thirds: readonly Third[];
  /** Mean stated half width over that of an interval computed with the true variances. */
  readonly width: { readonly ratio: number; readonly se: number; readonly limit: number; readonly holds: boolean };
  readonly broken: (Share & { readonly covered: number; readonly unverified: number; readonly limit: number; readonly holds: boolean }) | null;
  /** Mean error over its own standard error: a bias shows as a large one. */
  readonly bias: { readonly mean_error: number; readonly z: number };
  readonly holds: boolean;
}

const Z95 = 1.959964;
const WIDTH_MOST = 1.15;
const BROKEN_LEAST = 0.9;

/**
 * Rules (a) to (d) over the trials of one quantity.
 *
 * @param slack_se standard errors that a figure may lie outside its limit: 0 for the full study, 2 for a quick one, whose few
 *   rigs could not hold a limit by luck
 */
export function findings(quantity: string, trials: readonly Trial[], slack_se = 0): Findings {
  const kept = trials.filter((t) => !t.broken);
  const rectangular_share = meanOf(kept.map((t) => (t.rectangular ? 1 : 0)));
  const coverage = shareOf(kept);
  const plain = judged(kept.filter((t) => !t.rectangular), 0.965, slack_se);
  const by_limits = judged(kept.filter((t) => t.rectangular), 0.99, slack_se);
  const thirds = (['u', 'load', 'since_zero_h'] as const).flatMap((by) => thirdsBy(by, kept, slack_se));
  const width = widthOf(kept, slack_se);
  const broken = brokenOf(trials.filter((t) => t.broken), slack_se);
  const errors = kept.map((t) => t.error);
  const mean_error = meanOf(errors);
  return {
    quantity,
    rigs: kept.length,
    rectangular_share,
    coverage,
    plain,
    by_limits,
    thirds,
    width,
    broken,
    bias: { mean_error, z: mean_error / (sdOf(errors) / Math.sqrt(errors.length)) },
    holds: plain.holds && by_limits.holds && thirds.every((t) => t.holds) && width.holds && (broken?.holds ?? true),
  };
}

const covered = (t: Trial): boolean => Math.abs(t.error) <= t.U95;

function shareOf(trials: readonly Trial[], good: (t: Trial) => boolean = covered): Share {
  const n = trials.length;
  const share = n === 0 ? NaN : trials.filter(good).length / n;
  return { n, share, se: Math.sqrt((share * (1 - share)) / n) };
}

/** So many that 93.5 and 96.5 % lie two standard errors either side of 95 %. */
const JUDGED_LEAST_n = 800;

function judged(trials: readonly Trial[], to: number, slack_se: number): Judged {
  const s = shareOf(trials);
  if (s.n < (slack_se > 0 ? 100 : JUDGED_LEAST_n)) return { ...s, from: null, to: null, holds: true };
  return { ...s, from: 0.935, to, holds: s.share >= 0.935 - slack_se * s.se && s.share <= to + slack_se * s.se };
}

function thirdsBy(by: Third['by'], trials: readonly Trial[], slack_se: number): Third[] {
  const sorted = [...trials].sort((a, b) => a[by] - b[by]);
  // A quantity that has no zero has no time since it.
  if (sorted[0]?.[by] === sorted.at(-1)?.[by]) return [];
  return ([1, 2, 3] as const).map((third) => {
    const part = sorted.slice(Math.round(((third - 1) * sorted.length) / 3), Math.round((third * sorted.length) / 3));
    const s = shareOf(part);
    const sd_of_error_over_u = Math.sqrt(meanOf(part.map((t) => (t.error / t.u) ** 2)));
    const rectangular_share = meanOf(part.map((t) => (t.rectangular ? 1 : 0)));
    // From 0.9 with none ruled by limits to 0.6 with all of them.
    const least = 0.9 - 0.3 * rectangular_share;
    // Of a scatter from n readings; limits for it are as for a normal error.
    const slack_sd = (slack_se * sd_of_error_over_u) / Math.sqrt(2 * part.length);
    const slack = slack_se * s.se;
    const holds = s.share >= 0.9 - slack && s.share <= 0.99 + slack && sd_of_error_over_u >= least - slack_sd && sd_of_error_over_u <= 1.1 + slack_sd;
    return { by, third, ...s, sd_of_error_over_u, rectangular_share, holds };
  });
}

/**
 * Within one kind of rig all errors have one true distribution, so their scatter is the true variance of it, and Z95 times
 * its root the interval that one would state who knew it. A mean over kinds, each from few rigs: c4 takes out that the
 * root of an estimated variance is too small.
 */
function widthOf(trials: readonly Trial[], slack_se: number): Findings['width'] {
  const kinds = new Map<number, Trial[]>();
  for (const t of trials) kinds.set(t.kind, [...(kinds.get(t.kind) ?? []), t]);
  const pairs = [...kinds.values()].filter((k) => k.length >= 5).map((k) => ({
    stated: meanOf(k.map((t) => t.U95)),
    oracle: (Z95 * sdOf(k.map((t) => t.error))) / c4(k.length),
  }));
  const stated = meanOf(pairs.map((p) => p.stated));
  const oracle = meanOf(pairs.map((p) => p.oracle));
  const ratio = stated / oracle;
  const se = sdOf(pairs.map((p) => p.stated - ratio * p.oracle)) / Math.sqrt(pairs.length) / oracle;
  return { ratio, se, limit: WIDTH_MOST, holds: ratio <= WIDTH_MOST + slack_se * se };
}

function brokenOf(trials: readonly Trial[], slack_se: number): Findings['broken'] {
  if (trials.length === 0) return null;
  const s = shareOf(trials, (t) => covered(t) || !t.verified);
  return {
    ...s,
    covered: shareOf(trials).share,
    unverified: shareOf(trials, (t) => !t.verified).share,
    limit: BROKEN_LEAST,
    holds: s.share >= BROKEN_LEAST - slack_se * s.se,
  };
}

export const meanOf = (x: readonly number[]): number => x.reduce((s, v) => s + v, 0) / x.length;
export function sdOf(x: readonly number[]): number {
  const m = meanOf(x);
  return Math.sqrt(x.reduce((s, v) => s + (v - m) ** 2, 0) / (x.length - 1));
}

/** E(s) / sigma for n normal readings: sqrt(2 / (n - 1)) Gamma(n / 2) / Gamma((n - 1) / 2), by its expansion (1e-5 from n = 5 on). */
function c4(n: number): number {
  return 1 - 1 / (4 * n) - 7 / (32 * n * n) - 19 / (128 * n ** 3);
}

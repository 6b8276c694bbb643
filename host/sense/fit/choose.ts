import { curvatureBound_y, curvatureOf, possibleCurvature, u_straight_y, type Curvature } from './curvature.js';
import { fitPolynomial, fittedAt, type PolynomialFit } from './polynomial.js';
import { pOfF, studentQuantile } from './student.js';
import { sumOf } from './sums.js';

/**
 * straight: enough points to have seen a curvature that matters, and there is none. curved:
 * seen, and it matters. curved_too_little: seen, and smaller than the scatter of one point.
 * cannot_tell: too few points to see one that matters. asked: the degree was given.
 */
export type ChoiceReason = 'straight' | 'curved' | 'curved_too_little' | 'cannot_tell' | 'asked';

export interface ChooseOptions {
  readonly weights?: readonly number[] | undefined;
  /** Take this degree, and say what the points say of it. */
  readonly degree?: 1 | 2 | undefined;
  /** Scatter of one point as known from elsewhere, in y: what settled readings showed, or the resolution. */
  readonly noise_sd?: number | undefined;
  /** Half-width of the data sheet's non-linearity, in y. */
  readonly nonlinearity_y?: number | undefined;
}

export interface DegreeChoice {
  readonly degree: 1 | 2;
  readonly reason: ChoiceReason;
  /** The reason with its numbers, as a sentence. */
  readonly says: string;
  /** The one that was chosen; the two that were compared. */
  readonly fit: PolynomialFit;
  readonly line: PolynomialFit;
  readonly quadratic: PolynomialFit | null;
  /** Of the added term, and how often chance alone does as much; null where nothing is left to judge by. */
  readonly F: number | null;
  readonly p: number | null;
  readonly curvature: Curvature;
  /** Curvature over the rise of y along the span. */
  readonly curvature_of_span: number | null;
  /** From here on a curvature matters: the scatter of one point. */
  readonly matters_y: number | null;
  readonly n: number;
  /** Points, spread as these are, that would see a curvature that matters in four of five calibrations; null if not known. */
  readonly n_needed: number | null;
  /** What curvature there may be with 95 %; null where nothing bounds it. */
  readonly bound_y: number | null;
  /** Budget line: standard uncertainty in y that a straight line leaves for it, and its degrees of freedom; 0 with a quadratic, null where nothing bounds it. */
  readonly u_left_y: number | null;
  readonly u_left_dof: number;
}

/** A curvature is seen where chance alone does as much in fewer than one of twenty. */
export const P_LIMIT = 0.05;
const POWER = 0.8;
const N_MOST = 10_000;
/** Points that lie on their curve to so many digits have rounding for a scatter. */
const ROUNDING = 1e-12;

/**
 * Straight line or quadratic, by evidence: the F test of the added term, and whether the
 * curvature is larger than the scatter of one point. Stays straight where the points
 * cannot tell, and gives what may be there as an uncertainty.
 * @param x loads, one for each point; @param y readings
 * @throws FIT_IMPOSSIBLE with fewer than two different loads, and with fewer than three where a quadratic was asked for
 */
export function chooseDegree(x: readonly number[], y: readonly number[], options: ChooseOptions = {}): DegreeChoice {
  const { weights, noise_sd, nonlinearity_y } = options;
  const line = fitPolynomial(x, y, 1, { weights });
  const possible = new Set(x).size > 2 || options.degree === 2;
  const quadratic = possible ? fitPolynomial(x, y, 2, { weights }) : null;

  const rounding = ROUNDING * Math.max(...y.map(Math.abs));
  const of_points = quadratic?.residual_sd ?? null;
  // With no point left over the line's own scatter stands in: it may be noise as well as curvature.
  const sd = of_points === null ? (noise_sd ?? line.residual_sd) : Math.max(of_points, rounding);
  const dof = of_points !== null ? (quadratic?.dof ?? 0) : noise_sd === undefined ? line.dof : Infinity;
  const curvature: Curvature = quadratic === null ? { y: null, u_y: null, dof: 0 } : curvatureOf(x, quadratic, sd, dof);

  const { F, p } = test(line, quadratic, sd, weights);
  const matters_y = sd === null ? null : Math.max(sd, noise_sd ?? 0, rounding);
  const n_needed = neededFor(curvature, matters_y, x.length);
  const reason = reasonOf(options.degree, { p, curvature, matters_y, n: x.length, n_needed });
  const degree = options.degree ?? (reason === 'curved' ? 2 : 1);
  const possibly = possibleCurvature(curvature, nonlinearity_y);
  const rise = Math.abs(fittedAt(line, Math.max(...x)) - fittedAt(line, Math.min(...x)));
  const choice = {
    degree,
    reason,
    fit: degree === 2 && quadratic !== null ? quadratic : line,
    line,
    quadratic,
    F,
    p,
    curvature,
    curvature_of_span: curvature.y === null || rise === 0 ? null : curvature.y / rise,
    matters_y,
    n: x.length,
    n_needed,
    bound_y: possibly === null ? null : curvatureBound_y(possibly),
    u_left_y: degree === 2 ? 0 : possibly === null ? null : u_straight_y(x, weights, possibly),
    u_left_dof: degree === 2 ? Infinity : (possibly?.dof ?? 0),
  };
  return { ...choice, says: sentence(choice, rise) };
}

function test(line: PolynomialFit, quadratic: PolynomialFit | null, sd: number | null, weights: readonly number[] | undefined): { F: number | null; p: number | null } {
  if (quadratic === null || quadratic.dof < 1 || sd === null) return { F: null, p: null };
  const rss = (fit: PolynomialFit): number => sumOf(fit.residuals.map((r, i) => (weights?.[i] ?? 1) * r * r));
  const gain = Math.max(0, rss(line) - rss(quadratic));
  // All readings equal, and 0: there is no scatter and nothing to gain.
  const F = gain === 0 ? 0 : gain / sd ** 2;
  return { F, p: pOfF(F, 1, quadratic.dof) };
}

/** Points like these see a curvature better by the root of their number. */
function neededFor({ u_y }: Curvature, matters_y: number | null, n: number): number | null {
  if (u_y === null || matters_y === null) return null;
  for (let more = 4; more <= N_MOST; more++) {
    if (u_y * Math.sqrt(n / more) * seenFactor(more - 3) <= matters_y) return more;
  }
  return null;
}

/** Quantiles take long, and the same few are asked for again and again. */
const seenFactors: number[] = [];
function seenFactor(dof: number): number {
  return (seenFactors[dof] ??= studentQuantile(1 - P_LIMIT / 2, dof) + studentQuantile(POWER, dof));
}

function reasonOf(asked: 1 | 2 | undefined, { p, curvature, matters_y, n, n_needed }: Pick<DegreeChoice, 'p' | 'curvature' | 'matters_y' | 'n' | 'n_needed'>): ChoiceReason {
  if (asked !== undefined) return 'asked';
  if (p === null || curvature.y === null || matters_y === null) return 'cannot_tell';
  if (p < P_LIMIT) return Math.abs(curvature.y) >= matters_y ? 'curved' : 'curved_too_little';
  return n_needed !== null && n >= n_needed ? 'straight' : 'cannot_tell';
}

function sentence({ degree, reason, F, p, curvature, matters_y, n, n_needed, bound_y }: Omit<DegreeChoice, 'says'>, rise: number): string {
  const percent = (v: number | null): string => (v === null || rise === 0 ? 'an unknown part' : `${((100 * Math.abs(v)) / rise).toPrecision(2)} %`);
  const numbers = F === null || p === null ? 'no point is left over to test it' : `F ${F.toPrecision(3)}, p ${p.toPrecision(2)}`;
  const seen = `a curvature of ${percent(curvature.y)} of the span (${numbers}), a point scatters by ${percent(matters_y)}`;
  const bound = bound_y === null ? 'nothing bounds it: measure at three different loads or more' : `up to ${percent(bound_y)} may be there and is in the budget`;
  switch (reason) {
    case 'curved':
      return `Quadratic: the ${n} points show ${seen}.`;
    case 'straight':
      return `Straight line: the ${n} points show ${seen}; ${n_needed ?? 'fewer'} would have shown one that matters.`;
    case 'curved_too_little':
      return `Straight line: the ${n} points show ${seen}, which is more; ${bound}.`;
    case 'cannot_tell':
      return `Straight line, since the ${n} points cannot tell: they show ${curvature.y === null ? 'no curvature, at two loads' : seen}, ${n_needed === null ? 'more' : n_needed} would; ${bound}.`;
    case 'asked':
      return `${degree === 2 ? 'Quadratic' : 'Straight line'}, as asked: the ${n} points show ${curvature.y === null ? 'no curvature, at two loads' : seen}${degree === 2 ? '' : `; ${bound}`}.`;
  }
}

import { fCdf, tQuantile } from '../../sense/fit/distributions.js';
import { Matrix, pseudoInverse } from 'ml-matrix';

import { pooledScatter } from './scatter.js';

/** A build of the ledger: each of its parts in the state that it has there, and the results of its runs, above 0. */
export interface LedgerBuild {
  readonly name: string;
  readonly parts: Readonly<Record<string, string>>;
  readonly results: readonly number[];
}

/** One change of one part, from the state it has in the first build that has runs. */
export interface Change {
  readonly part: string;
  readonly from: string;
  readonly to: string;
}

export interface Effect {
  /** Several: they were never made apart, so this is what they do together. */
  readonly changes: readonly Change[];
  /** On the result: the factor less 1, all else alike. */
  readonly share: number;
  readonly interval95: readonly [number, number];
  readonly runs: number;
}

export interface Effects {
  /** Largest first. */
  readonly effects: readonly Effect[];
  /** Changes that the ledger cannot tell apart, nor give as a sum. */
  readonly entangled: readonly (readonly Change[])[];
  readonly scatter: { readonly sd: number; readonly dof: number } | null;
  /** Builds differ by more than these effects added up and the scatter of their runs: the intervals are widened to that. null: too few builds to see. */
  readonly add_up: boolean | null;
  readonly why: string | null;
}

const ABSENT = 'not there';
const TOLERANCE = 1e-9;
const PLAINLY = 0.05;

/**
 * Which change moved the result most over the whole ledger: least squares on logarithms, each part's state a factor. An
 * effect is given only where the builds allow it (its unit vector lies in the row space of the design); of what they do not
 * tell apart, the sum is given where that can be estimated.
 */
export function mainEffects(builds: readonly LedgerBuild[]): Effects {
  const run = builds.filter((b) => b.results.length > 0);
  const none = (why: string): Effects => ({ effects: [], entangled: [], scatter: null, add_up: null, why });
  const [base] = run;
  if (base === undefined || run.length < 2) return none('one build at most has runs with a result: there is nothing to compare');
  const changes = changesOf(run, base);
  if (changes.length === 0) return none('the builds that have runs do not differ in any part');
  const rows = run.flatMap((b) => b.results.map((r) => ({ y: Math.log(r), x: [1, ...changes.map((c) => (stateOf(b, c.part) === c.to ? 1 : 0))] })));
  const X = new Matrix(rows.map((r) => r.x));
  const plus = pseudoInverse(X);
  const beta = plus.mmul(Matrix.columnVector(rows.map((r) => r.y))).to1DArray();
  const row = plus.mmul(X);
  const rank = Math.round(row.trace());
  const scatter = scatterOf(run, rows, beta, rank);
  if (scatter === null) return none('no build was run twice: there is no scatter to judge an effect by');
  const seen = (i: number, j: number): boolean => Math.abs((i === j ? 1 : 0) - row.get(i, j)) < 1e-7;
  const groups = grouped(changes.length, (i, j) => !seen(i + 1, j + 1));
  const effects: Effect[] = [];
  const entangled: Change[][] = [];
  for (const group of groups) {
    const c = Array.from({ length: changes.length + 1 }, (_, k) => (group.includes(k - 1) ? 1 : 0));
    const got = Matrix.rowVector(c).mmul(row).to1DArray();
    const of = group.map((k) => changes[k] as Change);
    const runs = rows.filter((r) => group.every((k) => r.x[k + 1] === 1)).length;
    // A sum that no build shows, such as of two states of one part, is no change that one could make.
    if (runs === 0 || got.some((v, k) => Math.abs(v - (c[k] ?? 0)) > 1e-7)) {
      entangled.push(of);
      continue;
    }
    const value = beta.reduce((s, v, k) => s + v * (c[k] ?? 0), 0);
    const w = Matrix.rowVector(c).mmul(plus).to1DArray();
    const half = tQuantile(0.975, scatter.dof) * scatter.sd * Math.hypot(...w);
    effects.push({ changes: of, share: Math.expm1(value), interval95: [Math.expm1(value - half), Math.expm1(value + half)], runs });
  }
  return { effects: effects.sort((a, b) => Math.abs(Math.log1p(b.share)) - Math.abs(Math.log1p(a.share))), entangled, scatter: { sd: scatter.sd, dof: scatter.dof }, add_up: scatter.add_up, why: null };
}

const stateOf = (b: LedgerBuild, part: string): string => b.parts[part] ?? ABSENT;

function changesOf(builds: readonly LedgerBuild[], base: LedgerBuild): Change[] {
  const parts = [...new Set(builds.flatMap((b) => Object.keys(b.parts)))].sort();
  return parts.flatMap((part) => {
    const from = stateOf(base, part);
    return [...new Set(builds.map((b) => stateOf(b, part)))].filter((to) => to !== from).map((to) => ({ part, from, to }));
  });
}

/** By runs within builds; where the builds' means plainly stray more from the effects' sum, by that. */
function scatterOf(builds: readonly LedgerBuild[], rows: readonly { readonly y: number; readonly x: readonly number[] }[], beta: readonly number[], rank: number): { readonly sd: number; readonly dof: number; readonly add_up: boolean | null } | null {
  const pure = pooledScatter(builds.map((b) => b.results.map(Math.log)));
  const rest = rows.reduce((s, r) => s + (r.y - r.x.reduce((t, v, k) => t + v * (beta[k] ?? 0), 0)) ** 2, 0);
  const lack_dof = builds.length - rank;
  const pureSquares = pure === null ? 0 : pure.sd ** 2 * pure.dof;
  const lack = Math.max(0, rest - pureSquares);
  if (lack_dof <= 0) return pure === null ? null : { ...pure, add_up: null };
  const lackSd = Math.sqrt(lack / lack_dof);
  if (pure === null) return { sd: lackSd, dof: lack_dof, add_up: null };
  if (pure.sd < TOLERANCE) return lackSd > TOLERANCE ? { sd: lackSd, dof: lack_dof, add_up: false } : { ...pure, add_up: true };
  const strays = 1 - fCdf((lackSd / pure.sd) ** 2, lack_dof, pure.dof) < PLAINLY;
  return strays ? { sd: lackSd, dof: lack_dof, add_up: false } : { ...pure, add_up: true };
}

/** Connected numbers from 0 to n - 1. */
function grouped(n: number, linked: (i: number, j: number) => boolean): number[][] {
  const of = Array.from({ length: n }, (_, i) => i);
  for (let i = 0; i < n; i++) {
    for (let j = 0; j < i; j++) {
      if (!linked(i, j)) continue;
      const [a, b] = [of[i] as number, of[j] as number];
      for (let k = 0; k < n; k++) if (of[k] === a) of[k] = b;
    }
  }
  return [...new Set(of)].map((g) => of.flatMap((v, k) => (v === g ? [k] : [])));
}

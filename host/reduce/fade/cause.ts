import { madeOf } from './features.js';
import type { BrakeLaw } from './features.js';
import type { FadeChannel } from './reading.js';
import { causes, fingerprintsOf, scored, STILL } from './fingerprints.js';
import type { Cause, Fingerprint, Print, Scored } from './fingerprints.js';
import type { Shifts } from './shifts.js';

export interface Ranked {
  readonly cause: Cause;
  /** Share of the belief, all causes as likely beforehand. */
  readonly share: number;
}

export interface CauseFound {
  /** null: cannot tell. */
  readonly cause: Cause | null;
  /** Most likely first. */
  readonly ranked: readonly Ranked[];
  /** Two at once that explain it far better than any one; null: one is enough. */
  readonly both: readonly [Cause, Cause] | null;
  /** Channels that are missing and would have told the first two apart. */
  readonly would_tell: readonly FadeChannel[];
}

export interface CauseTerms {
  readonly law: BrakeLaw;
  readonly curve_slope: number | null;
}

/** The best must have this share of the belief. */
const TOLD = 0.6;
/** Two at once must be so many times as likely as the best alone. */
const BOTH = 20;
/** Sizes tried, from the least to the most, evenly in their logarithm. */
const SIZES = 48;
const LEAST = 1;
/** How far features go when they follow no pattern: nothing at all, or each for itself by some such part of this. */
const ANYHOW: Readonly<Record<Scored, number>> = { speed: 4, brake: 4, hot: 3, inlet: 1.5, difference: 6, flow: 8, skin: 2, swing_along: 5, swing_across: 6 };
const ANYHOW_PARTS = [0, 0.5, 1, 2] as const;

interface Seen {
  readonly feature: Scored;
  readonly value: number;
  readonly variance: number;
}

/**
 * Which fault the shifts of all features together look like: the likelihood of each fingerprint over all sizes that the fault may
 * have, against that of no pattern. What is missing takes no part, so that it takes certainty away and nothing else.
 */
export function causeOf(shifts: Shifts, terms: CauseTerms): CauseFound {
  const prints = fingerprintsOf(terms.law, terms.curve_slope);
  const seen: Seen[] = scored.flatMap((feature) => {
    const shift = shifts[feature];
    return shift === null ? [] : [{ feature, value: shift.value, variance: shift.u * shift.u }];
  });
  const logs: { readonly cause: Cause; readonly log: number }[] = [
    ...causes.map((cause) => ({ cause, log: singly(seen, prints[cause]) })),
    { cause: 'none_of_these', log: anyhow(seen) },
  ];
  const top = Math.max(...logs.map((l) => l.log));
  const total = logs.reduce((s, l) => s + Math.exp(l.log - top), 0);
  const ranked = logs.map(({ cause, log }) => ({ cause, share: Math.exp(log - top) / total })).sort((a, b) => b.share - a.share);
  const [best, next] = ranked as [Ranked, Ranked];
  // Without shaft and brake, or with nothing of the heat, half of the causes look alike.
  const cause = best.share >= TOLD && shifts.speed !== null ? best.cause : null;
  return { cause, ranked, both: pair(seen, prints, top), would_tell: cause === null ? wouldTell(shifts, prints, best.cause, next.cause) : [] };
}

const sizesOf = (most: number, n: number): number[] => Array.from({ length: n }, (_, i) => LEAST * (most / LEAST) ** (i / (n - 1)));

function singly(seen: readonly Seen[], { ways, most }: Fingerprint): number {
  const sizes = sizesOf(most, SIZES);
  return meanOfLogs(ways.flatMap((way) => {
    const print = printOf(seen, way);
    return sizes.map((size) => seen.reduce((s, d, i) => s + logNormal(d.value - (print.ratio[i] as number) * size, d.variance + (print.variance[i] as number) * size * size), 0));
  }));
}

const printOf = (seen: readonly Seen[], way: Print): { readonly ratio: readonly number[]; readonly variance: readonly number[] } => ({ ratio: seen.map((d) => ratioOf(way, d.feature)), variance: seen.map((d) => spreadOf(way, d.feature) ** 2) });

function anyhow(seen: readonly Seen[]): number {
  return meanOfLogs(ANYHOW_PARTS.map((part) => seen.reduce((s, d) => s + logNormal(d.value, d.variance + (part * ANYHOW[d.feature]) ** 2), 0)));
}

function pair(seen: readonly Seen[], prints: ReturnType<typeof fingerprintsOf>, single: number): readonly [Cause, Cause] | null {
  let best: { readonly of: readonly [Cause, Cause]; readonly log: number } | null = null;
  for (const [i, a] of causes.entries()) {
    for (const b of causes.slice(i + 1)) {
      const log = together(seen, prints[a], prints[b]);
      if (best === null || log > best.log) best = { of: [a, b], log };
    }
  }
  return best !== null && best.log > single + Math.log(BOTH) ? best.of : null;
}

/** By Laplace's approximation about the best two sizes, each way of the one with each of the other. */
function together(seen: readonly Seen[], a: Fingerprint, b: Fingerprint): number {
  const prior = Math.log(Math.log(a.most / LEAST)) + Math.log(Math.log(b.most / LEAST));
  const logs = a.ways.flatMap((p) => b.ways.map((q) => evidenceOfTwo(seen, printOf(seen, p), printOf(seen, q), a.most, b.most) - prior));
  return meanOfLogs(logs);
}

type PrintOf = ReturnType<typeof printOf>;

function evidenceOfTwo(seen: readonly Seen[], p: PrintOf, q: PrintOf, most_x: number, most_y: number): number {
  let [x, y] = [LEAST, LEAST];
  let [aa, ab, bb] = [0, 0, 0];
  const varianceAt = (i: number): number => (seen[i] as Seen).variance + (p.variance[i] as number) * x * x + (q.variance[i] as number) * y * y;
  // Weights depend on the sizes through the spreads: three rounds settle them.
  for (let round = 0; round < 3; round++) {
    aa = ab = bb = 0;
    let [ad, bd] = [0, 0];
    for (const [i, d] of seen.entries()) {
      const w = 1 / varianceAt(i);
      const [r, s] = [p.ratio[i] as number, q.ratio[i] as number];
      aa += w * r * r;
      ab += w * r * s;
      bb += w * s * s;
      ad += w * r * d.value;
      bd += w * s * d.value;
    }
    const det = aa * bb - ab * ab;
    if (!(det > 1e-9 * aa * bb)) return -Infinity;
    [x, y] = [(ad * bb - bd * ab) / det, (bd * aa - ad * ab) / det];
    if (!(x >= LEAST && y >= LEAST && x <= most_x && y <= most_y)) return -Infinity;
  }
  const fit = seen.reduce((s, d, i) => s + logNormal(d.value - (p.ratio[i] as number) * x - (q.ratio[i] as number) * y, varianceAt(i)), 0);
  return fit + Math.log(2 * Math.PI) - 0.5 * Math.log(aa * bb - ab * ab) - Math.log(x) - Math.log(y);
}

const ratioOf = (way: Print, feature: Scored): number => way[feature]?.[0] ?? 0;
const spreadOf = (way: Print, feature: Scored): number => way[feature]?.[1] ?? STILL[feature];
const logNormal = (off: number, variance: number): number => -0.5 * ((off * off) / variance + Math.log(2 * Math.PI * variance));

function meanOfLogs(logs: readonly number[]): number {
  const top = logs.reduce((m, x) => Math.max(m, x), -Infinity);
  if (top === -Infinity) return top;
  return top + Math.log(logs.reduce((s, x) => s + Math.exp(x - top), 0) / logs.length);
}

function wouldTell(shifts: Shifts, prints: ReturnType<typeof fingerprintsOf>, a: Cause, b: Cause): FadeChannel[] {
  const waysOf = (c: Cause): readonly Print[] => (c === 'none_of_these' ? [] : prints[c].ways);
  const apart = (f: Scored): boolean => waysOf(a).some((p) => waysOf(b).some((q) => Math.abs(ratioOf(p, f) - ratioOf(q, f)) > 2 * Math.max(spreadOf(p, f), spreadOf(q, f))));
  return scored.filter((f) => shifts[f] === null && apart(f)).map((f) => madeOf[f]);
}

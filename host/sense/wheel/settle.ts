import { Rhythm } from './rhythm.js';

/** Of a wheel that is called even: an interval over the median of a revolution's. */
const EVEN: readonly [number, number] = [0.75, 1.35];
const EVEN_LEAST = 5;
/** Of the intervals of an even wheel that has faults. */
const EVEN_SHARE = 0.8;
/** From one revolution to the next an interval of an uneven wheel changes by less than this. */
const REPEATS: readonly [number, number] = [0.8, 1.25];
/** Until an uneven revolution has come again so often, it may be an even wheel whose faults fell on the same magnets. */
const REVOLUTIONS = 4;

/** An interval over the one that learned sectors let expect. */
const AS_LEARNED: readonly [number, number] = [0.8, 1.25];

/** How many intervals tell all that is asked of them. */
export const settleLength = (magnets: number): number => Math.max(EVEN_LEAST, REVOLUTIONS * magnets);

/**
 * The rhythm in the newest intervals: as learned; or all alike; or each like the one a revolution before it, however uneven the wheel; or
 * nearly all alike, a few wrong ones among them. null: none yet.
 *
 * @param intervals newest last
 */
export function settled(intervals: readonly number[], magnets: number, sector_share: readonly number[] | null = null): Rhythm | null {
  const even = (sector_share === null ? null : asLearned(intervals, magnets, sector_share)) ?? alike(intervals, magnets, 1);
  if (even !== null || intervals.length < settleLength(magnets)) return even;
  return repeating(intervals, magnets) ?? alike(intervals, magnets, EVEN_SHARE);
}

/** At the magnet where the learned sectors fit best, if they fit at all. */
function asLearned(intervals: readonly number[], magnets: number, sector_share: readonly number[]): Rhythm | null {
  const some = intervals.slice(-Math.max(EVEN_LEAST, magnets));
  if (sector_share.length !== magnets || some.length < Math.max(EVEN_LEAST, magnets)) return null;
  const turn = some.slice(-magnets).reduce((s, x) => s + x, 0);
  let best: { readonly first: number; readonly away: number } | null = null;
  for (let first = 0; first < magnets; first++) {
    // Counted back from the newest, whose sector is the one before `first`.
    const ratios = some.map((x, i) => x / (turn * (sector_share[(first + magnets * some.length - (some.length - i)) % magnets] as number)));
    if (!ratios.every((r) => inside(r, AS_LEARNED))) continue;
    const away = ratios.reduce((s, r) => s + (r - 1) ** 2, 0);
    if (best === null || away < best.away) best = { first, away };
  }
  if (best === null) return null;
  const { first } = best;
  return new Rhythm(turn / magnets, sector_share.map((_, k) => (sector_share[(first + k) % magnets] as number) * magnets));
}

function alike(intervals: readonly number[], magnets: number, share: number): Rhythm | null {
  const some = intervals.slice(-Math.max(EVEN_LEAST, magnets));
  if (some.length < Math.max(EVEN_LEAST, magnets)) return null;
  const middle = median(some);
  // A short one, here or just before, means that the others are too long: magnets are missing, or the wheel is uneven.
  if (intervals.slice(-2 * some.length).some((x) => x / middle < EVEN[0])) return null;
  const held = some.filter((x) => inside(x / middle, EVEN));
  if (held.length < share * some.length || held.at(-1) !== some.at(-1)) return null;
  return held.length === some.length ? ofTurn(intervals, magnets) : new Rhythm(middle, new Array<number>(magnets).fill(1));
}

function repeating(intervals: readonly number[], magnets: number): Rhythm | null {
  const n = intervals.length;
  for (let i = n - (REVOLUTIONS - 1) * magnets; i < n; i++) {
    if (!inside((intervals[i] as number) / (intervals[i - magnets] as number), REPEATS)) return null;
  }
  return ofTurn(intervals, magnets);
}

/** The last revolution as the lengths of the sectors: the next one is that of a revolution ago. */
function ofTurn(intervals: readonly number[], magnets: number): Rhythm {
  const turn = intervals.slice(-magnets);
  const mean = turn.reduce((s, x) => s + x, 0) / magnets;
  return new Rhythm(mean, turn.map((x) => x / mean));
}

const inside = (x: number, [least, most]: readonly [number, number]): boolean => x >= least && x <= most;

export function median(x: readonly number[]): number {
  const sorted = [...x].sort((a, b) => a - b);
  const half = sorted.length >> 1;
  return sorted.length % 2 === 1 ? (sorted[half] as number) : ((sorted[half - 1] as number) + (sorted[half] as number)) / 2;
}

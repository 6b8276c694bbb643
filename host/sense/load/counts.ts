import { describe, robust } from '../fit/describe.js';

/** One conversion of the bridge converter, in the order in which they came. */
export interface Conversion {
  readonly count: number;
  readonly flags: number;
}

/**
 * read: a mean. none: no sound conversion. short: too few to show a scatter, and no noise is known. stuck: the converter says
 * the same again and again. wild: too many conversions are flagged or impossible.
 */
export type CountState = 'read' | 'none' | 'short' | 'stuck' | 'wild';

/** What a span of conversions comes to. The raw ones are kept elsewhere, whole. */
export interface CountMean {
  readonly state: CountState;
  /** In words; null when read. */
  readonly reason: string | null;
  readonly count: number | null;
  /** Random part of the mean, autocorrelation included, and its degrees of freedom. */
  readonly u_count: number | null;
  readonly dof: number | null;
  /** Of one conversion. */
  readonly sd_count: number | null;
  readonly lag1: number | null;
  /** Conversions in the mean, and those left out of it. */
  readonly n: number;
  readonly flagged: number;
  readonly glitches: number;
}

/** Further from the median than so many robust standard deviations is no noise ... */
const GLITCH_SDS = 10;
/** ... unless it is this close: a quiet converter steps by a few counts. */
const GLITCH_LEAST_count = 50;
/** So many equal conversions in a row: a 24-bit converter with a bridge on it always stirs. */
const STUCK_n = 24;
const LOST_SHARE = 0.2;

/**
 * Mean of the sound conversions of a span.
 * @param noise_count of one conversion, as known from elsewhere (a zero), for spans too short to show their own
 */
export function meanCounts(conversions: readonly Conversion[], noise_count: number | null = null): CountMean {
  const sound = conversions.filter((c) => c.flags === 0).map((c) => c.count);
  const flagged = conversions.length - sound.length;
  const none = (state: CountState, reason: string, glitches = 0): CountMean => ({ state, reason, count: null, u_count: null, dof: null, sd_count: null, lag1: null, n: sound.length - glitches, flagged, glitches });
  if (sound.length === 0) return none('none', flagged === 0 ? 'no conversion of the load cell came' : `all ${flagged} conversions are flagged`);
  if (sound.length >= STUCK_n && sound.every((c) => c === sound[0])) return none('stuck', `${sound.length} conversions all read ${sound[0] ?? ''}: see to the wires of the cell and its converter`);
  const { median, sd } = robust(sound);
  const far = Math.max(GLITCH_SDS * sd, GLITCH_LEAST_count);
  const kept = sound.filter((c) => Math.abs(c - median) <= far);
  const glitches = sound.length - kept.length;
  if (flagged + glitches > LOST_SHARE * conversions.length) return none('wild', `${flagged} of ${conversions.length} conversions are flagged and ${glitches} impossible: see to the converter's clock wire and supply`, glitches);

  const { mean, sd: seen, lag1, u_mean, dof, n } = describe(kept);
  const rest = { count: mean, sd_count: seen, lag1, n, flagged, glitches };
  if (u_mean !== null && u_mean > 0) return { state: 'read', reason: null, ...rest, u_count: u_mean, dof };
  const noise = seen === 0 ? 0 : noise_count;
  if (noise === null && seen === null) return none('short', `${n} conversion${n === 1 ? '' : 's'} show no scatter: average longer`, glitches);
  // A series too short for its own memory counts as one reading.
  const of_one = noise ?? seen ?? 0;
  return { state: 'read', reason: null, ...rest, u_count: noise === null ? of_one : of_one / Math.sqrt(n), dof: noise === null ? 1 : Infinity };
}

import { fail } from '../../errors.js';

/**
 * The value itself if it lies within its limits.
 * @param todo what to do about one that does not, as the end of a sentence
 * @throws OUT_OF_RANGE, also for what is no number
 */
export function within(what: string, value: number, unit: string, least: number, most: number, todo: string): number {
  if (value >= least && value <= most) return value;
  throw fail('OUT_OF_RANGE', { what, value, unit, limit: `from ${least} to ${most}`, todo });
}

/** As within, for a finite quantity above 0. @throws OUT_OF_RANGE */
export function positive(what: string, value: number, unit: string, todo: string): number {
  if (value > 0 && value < Infinity) return value;
  throw fail('OUT_OF_RANGE', { what, value, unit, limit: 'above 0', todo });
}

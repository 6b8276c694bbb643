/** What a shaft and its pickup can do, against which an edge is judged. */
export interface WheelLimits {
  /** Faster than this the shaft never turns. */
  readonly speed_max_rpm: number;
  /** Below this a true stall can double one interval, so that a late edge is not called missed. */
  readonly relaxed_below_rpm: number;
  /**
   * Greatest deceleration, brake torque over moment of inertia; null: not known. Where it is known it takes the place of
   * `relaxed_below_rpm`: relaxed is what could come to rest within one sector, w^2 < 2 a theta.
   */
  readonly deceleration_max_rad_s2: number | null;
  /** Share of a turn from each magnet to the next, where it was learned: an uneven wheel is then known by its first revolution. */
  readonly sector_share?: readonly number[] | null;
}

/**
 * 24 000 rev/min: with one magnet that is all the edges a second that the board can send, and an engine that has lost its
 * load must be shown at what it does. 100 rev/min: a micro engine is stalled by its brake within a revolution only below
 * about that (common practice, no source).
 */
export const wheelLimits: WheelLimits = { speed_max_rpm: 24_000, relaxed_below_rpm: 100, deceleration_max_rad_s2: null };

/** Interval over the one expected: sooner is an extra edge, later means that one is missing before it (common practice, no source). */
export const EARLY = 0.6;
export const LATE = 1.6;
/** So soon after a magnet only the same magnet can make an edge, at any speed. */
export const BLANK = 0.3;

/** Ticks of one whole revolution at a speed. */
export const revolution_ticks = (speed_rpm: number, us_per_tick: number): number => 60e6 / speed_rpm / us_per_tick;

/** Revolutions slower than this are judged relaxed. */
export function relaxed_ticks(limits: WheelLimits, magnets: number, us_per_tick: number): number {
  const a = limits.deceleration_max_rad_s2;
  if (a === null) return revolution_ticks(limits.relaxed_below_rpm, us_per_tick);
  const w = Math.sqrt((2 * a * 2 * Math.PI) / magnets);
  return ((2 * Math.PI) / w / us_per_tick) * 1e6;
}

import { CellNoise } from './cell-noise.js';
import type { CellNoiseRig } from './cell-noise.js';
import { CellWarmth } from './cell-warmth.js';
import type { CellWarmthRig } from './cell-warmth.js';
import { Creep } from './creep.js';
import type { CreepRig } from './creep.js';
import { Hysteresis } from './hysteresis.js';
import type { RandomStream } from './random.js';

export interface CellRig extends CellNoiseRig {
  /** Force at which the cell is full, for the reader; the converter's end is what limits. */
  readonly range_N: number;
  readonly slope_counts_per_N: number;
  readonly zero_counts: number;
  /** Steady drift of the zero. */
  readonly drift_counts_per_h: number;
  /** Random walk of the zero: standard deviation after one hour. */
  readonly walk_counts_per_sqrt_h: number;
  readonly curvature_counts_per_N2?: number;
  /** How far the falling branch lies above the rising one half-way, over a full cycle, as a share of the range. */
  readonly hysteresis_share?: number;
  readonly creep?: readonly CreepRig[];
  readonly warmth?: CellWarmthRig;
  /** Beyond this force, either way, the bar lies against a stop that takes all but a share of what more comes. */
  readonly stop?: { readonly at_N: number; readonly share: number };
}

const COUNT_MAX = 2 ** 23 - 1;
const COUNT_MIN = -(2 ** 23);

/**
 * From force to what the converter says: zero, drift and noise, and slope times what the bar
 * feels, held within 24 bits. The bar feels the force with its own memory: hysteresis and creep.
 */
export class Cell {
  readonly #rig: CellRig;
  readonly #noise: CellNoise;
  readonly #walk: RandomStream;
  readonly #hysteresis: Hysteresis | null;
  readonly #creep: Creep | null;
  readonly #warmth: CellWarmth | null;
  #walk_counts = 0;
  #shift_counts = 0;
  /** The zero wanders off by this, beside all else. */
  zero_off_counts = 0;
  #last_s = 0;

  /**
   * @param streams of its own by name, for what few cells have
   * @param hot_K the hot cap's excess over the room, now
   */
  constructor(rig: CellRig, noise: RandomStream, walk: RandomStream, streams?: (name: string) => RandomStream, hot_K: () => number = () => 0) {
    this.#rig = rig;
    this.#noise = new CellNoise(rig, noise, streams);
    this.#walk = walk;
    this.#hysteresis = rig.hysteresis_share === undefined ? null : new Hysteresis(rig.hysteresis_share, rig.range_N);
    this.#creep = rig.creep === undefined ? null : new Creep(rig.creep);
    this.#warmth = rig.warmth === undefined ? null : new CellWarmth(rig.warmth, hot_K);
  }

  /** How much warmer than the room the cell is. */
  get above_room_K(): number {
    return this.#warmth?.above_room_K ?? 0;
  }

  /** A sudden shift of the zero, for good. */
  shiftZero(counts: number): void {
    this.#shift_counts += counts;
  }

  /**
   * One conversion ended at `t_s`. Times must rise.
   * @param seen_N what the converter's filter makes of the force
   * @param borne_N what the bar has borne since the last conversion, in the mean: its memory is of that
   */
  convert(t_s: number, seen_N: number, borne_N = seen_N): number {
    const rig = this.#rig;
    const span_s = t_s - this.#last_s;
    if (rig.walk_counts_per_sqrt_h > 0) this.#walk_counts += this.#walk.normal() * rig.walk_counts_per_sqrt_h * Math.sqrt(span_s / 3600);
    this.#last_s = t_s;
    const drift = (rig.drift_counts_per_h * t_s) / 3600 + this.#walk_counts + this.#shift_counts + this.zero_off_counts;
    const count = Math.round(rig.zero_counts + drift + this.#bent(t_s, span_s, seen_N, borne_N) + this.#noise.next(span_s));
    return this.#noise.glitch(t_s, Math.max(COUNT_MIN, Math.min(COUNT_MAX, count)));
  }

  #bent(t_s: number, span_s: number, seen_N: number, borne_N: number): number {
    const rig = this.#rig;
    let force_N = rig.stop === undefined ? seen_N : stopped_N(seen_N, rig.stop);
    if (this.#hysteresis !== null || this.#creep !== null) {
      const bar_N = rig.stop === undefined ? borne_N : stopped_N(borne_N, rig.stop);
      force_N += (this.#hysteresis?.beyond_N(bar_N) ?? 0) + (this.#creep?.beyond_N(bar_N, span_s) ?? 0);
    }
    let slope = rig.slope_counts_per_N;
    let bent = 0;
    if (this.#warmth !== null && rig.warmth !== undefined) {
      this.#warmth.follow(t_s, span_s);
      const warm_K = this.#warmth.above_room_K;
      slope *= 1 + rig.warmth.slope_share_per_K * warm_K;
      bent += rig.warmth.zero_counts_per_K * warm_K;
    }
    if (rig.curvature_counts_per_N2 !== undefined) bent += rig.curvature_counts_per_N2 * force_N * force_N;
    return bent + slope * force_N;
  }
}

function stopped_N(force_N: number, { at_N, share }: { readonly at_N: number; readonly share: number }): number {
  const over_N = Math.abs(force_N) - at_N;
  return over_N <= 0 ? force_N : Math.sign(force_N) * (at_N + share * over_N);
}

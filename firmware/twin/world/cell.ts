import type { RandomStream } from './random.js';

export interface CellRig {
  /** Force at which the cell is full, for the reader; the converter's end is what limits. */
  readonly range_N: number;
  readonly slope_counts_per_N: number;
  readonly zero_counts: number;
  /** Standard deviation of one conversion. */
  readonly noise_counts: number;
  /** Steady drift of the zero. */
  readonly drift_counts_per_h: number;
  /** Random walk of the zero: standard deviation after one hour. */
  readonly walk_counts_per_sqrt_h: number;
}

const COUNT_MAX = 2 ** 23 - 1;
const COUNT_MIN = -(2 ** 23);

/** From force to what the converter says: zero + drift + slope * force + noise, held within 24 bits. */
export class Cell {
  readonly #rig: CellRig;
  readonly #noise: RandomStream;
  readonly #walk: RandomStream;
  #walk_counts = 0;
  #shift_counts = 0;
  #last_s = 0;

  constructor(rig: CellRig, noise: RandomStream, walk: RandomStream) {
    this.#rig = rig;
    this.#noise = noise;
    this.#walk = walk;
  }

  /** A sudden shift of the zero, for good. */
  shiftZero(counts: number): void {
    this.#shift_counts += counts;
  }

  /** One conversion ended at `t_s`. Times must rise. */
  convert(t_s: number, force_N: number): number {
    const rig = this.#rig;
    if (rig.walk_counts_per_sqrt_h > 0) {
      this.#walk_counts += this.#walk.normal() * rig.walk_counts_per_sqrt_h * Math.sqrt((t_s - this.#last_s) / 3600);
    }
    this.#last_s = t_s;
    const drift = (rig.drift_counts_per_h * t_s) / 3600 + this.#walk_counts + this.#shift_counts;
    const count = Math.round(rig.zero_counts + drift + rig.slope_counts_per_N * force_N + rig.noise_counts * this.#noise.normal());
    return Math.max(COUNT_MIN, Math.min(COUNT_MAX, count));
  }
}

/**
 * What to add to the monotonic clock to get UTC, from pairs of readings.
 *
 * A wall clock read to the millisecond is late by up to that grain, so each pair
 * bounds the offset from both sides; bounds that contradict each other mean that
 * the wall clock was stepped, and a new anchor begins. Whether the host's UTC
 * itself is right is not known here.
 */
const GRAIN_us = 1000;
/** Two readings are not one instant: a task switch may fall between them. */
const SPLIT_us = 50;

export class WallAnchor {
  #low_us = -Infinity;
  #high_us = Infinity;
  steps = 0;

  /** @returns true when the wall clock was stepped since the last reading */
  read(monotonic_before_us: number, wall_us: number, monotonic_after_us: number): boolean {
    const grain_us = wall_us % GRAIN_us === 0 ? GRAIN_us : 1;
    const low_us = wall_us - monotonic_after_us - SPLIT_us;
    const high_us = wall_us + grain_us - monotonic_before_us + SPLIT_us;
    const stepped = low_us > this.#high_us || high_us < this.#low_us;
    if (stepped) {
      this.steps++;
      this.#low_us = low_us;
      this.#high_us = high_us;
    } else {
      this.#low_us = Math.max(this.#low_us, low_us);
      this.#high_us = Math.min(this.#high_us, high_us);
    }
    return stepped;
  }

  get offset_us(): number {
    return (this.#low_us + this.#high_us) / 2;
  }

  /** Standard uncertainty of the offset as this host tells UTC: limits only, so half-width / sqrt(3). */
  get u_us(): number {
    return (this.#high_us - this.#low_us) / 2 / Math.sqrt(3);
  }
}

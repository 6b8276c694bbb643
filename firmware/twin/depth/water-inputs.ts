import cdf from '@stdlib/stats-base-dists-normal-cdf';
import { WATER_SAMPLES } from '../../../protocol/messages.js';
import type { RandomStream } from '../world/random.js';

/** Farther out than this many standard deviations nothing is drawn: 1 in 10^9, less than the generator's grain. */
const REACH = 6.2;
/** With more noise than this the conversions are drawn one by one. */
const NOISE_TABLE_MAX_LSB = 2;
const STEPS_MAX = 1023;

/**
 * Bursts of conversions of one steady input with noise. A conversion is the step below the input plus its
 * noise; only how many of a burst fall on each step matters, so that is what is drawn: a binomial number for
 * each step in turn, of the conversions that are left.
 */
export class WaterInput {
  sum = 0;
  spread = 0;
  readonly #noise_LSB: number;
  readonly #noise: RandomStream;
  #steps = NaN;
  #low = 0;
  #n = 0;
  /** Chance of each step from #low on, for a conversion that is on none below it. */
  readonly #chance = new Float64Array(Math.ceil(2 * REACH * NOISE_TABLE_MAX_LSB) + 2);

  constructor(noise_LSB: number, noise: RandomStream) {
    this.#noise_LSB = noise_LSB;
    this.#noise = noise;
  }

  /** A burst at an input that stands at `steps` of the converter. */
  draw(steps: number): void {
    let least = STEPS_MAX;
    let most = 0;
    let sum = 0;
    if (this.#noise_LSB > NOISE_TABLE_MAX_LSB) {
      for (let i = 0; i < WATER_SAMPLES; i++) {
        const step = within(Math.floor(steps + this.#noise.normal() * this.#noise_LSB));
        sum += step;
        least = Math.min(least, step);
        most = Math.max(most, step);
      }
    } else {
      if (steps !== this.#steps) this.#ready(steps);
      let left = WATER_SAMPLES;
      for (let k = 0; left > 0; k++) {
        const on = k === this.#n ? left : binomial(left, this.#chance[k] as number, this.#noise);
        if (on === 0) continue;
        const step = within(this.#low + k);
        sum += on * step;
        if (step < least) least = step;
        most = step;
        left -= on;
      }
    }
    this.sum = sum & 0xffff;
    this.spread = Math.min(0xff, most - least);
  }

  #ready(steps: number): void {
    this.#steps = steps;
    const noise = this.#noise_LSB;
    this.#low = Math.floor(steps - REACH * noise);
    this.#n = Math.floor(steps + REACH * noise) - this.#low;
    let below = 0;
    for (let k = 0; k < this.#n; k++) {
      const upTo = cdf(this.#low + k + 1, steps, noise);
      this.#chance[k] = below < 1 ? (upTo - below) / (1 - below) : 1;
      below = upTo;
    }
  }
}

const within = (step: number): number => (step < 0 ? 0 : step > STEPS_MAX ? STEPS_MAX : step);

/** How many of `n` happen that each happen with this chance: the distribution summed up to a uniform number. */
export function binomial(n: number, chance: number, random: RandomStream): number {
  if (chance < 1e-12) return 0;
  const rarer = Math.min(chance, 1 - chance);
  if (rarer <= 0) return n;
  const odds = rarer / (1 - rarer);
  let term = Math.pow(1 - rarer, n);
  let u = random.uniform() - term;
  let count = 0;
  while (u >= 0 && count < n) {
    count++;
    term *= ((n - count + 1) * odds) / count;
    u -= term;
  }
  return chance === rarer ? count : n - count;
}

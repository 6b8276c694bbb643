import cdf from '@stdlib/stats-base-dists-normal-cdf';
import { WATER_SAMPLES } from '../../../protocol/messages.js';
import type { RandomStream } from '../world/random.js';

/** Farther out than this many standard deviations nothing is drawn: 1 in 10^9, less than the generator's grain. */
const REACH = 6.2;
/** With more noise than this the steps are drawn one by one. */
const NOISE_TABLE_MAX_LSB = 2;
const STEPS_MAX = 1023;

/** Sum and spread of a burst of conversions of one input. */
export interface Burst {
  sum: number;
  spread: number;
}

/**
 * Conversions of a steady input with noise, all of one burst: each is a step below the input plus
 * its noise, drawn from the probability of each step.
 */
export function drawBurst(steps: number, noise_LSB: number, noise: RandomStream, into: Burst): void {
  let least = STEPS_MAX;
  let most = 0;
  let sum = 0;
  if (noise_LSB > 0 && noise_LSB <= NOISE_TABLE_MAX_LSB) {
    const low = Math.floor(steps - REACH * noise_LSB);
    const n = Math.floor(steps + REACH * noise_LSB) - low;
    for (let k = 0; k < n; k++) edges[k] = cdf(low + k + 1, steps, noise_LSB);
    for (let i = 0; i < WATER_SAMPLES; i++) {
      const u = noise.uniform();
      let k = 0;
      while (k < n && u >= (edges[k] as number)) k++;
      const step = within(low + k);
      sum += step;
      if (step < least) least = step;
      if (step > most) most = step;
    }
  } else {
    for (let i = 0; i < WATER_SAMPLES; i++) {
      const step = within(Math.floor(steps + (noise_LSB > 0 ? noise.normal() * noise_LSB : 0)));
      sum += step;
      if (step < least) least = step;
      if (step > most) most = step;
    }
  }
  into.sum = sum & 0xffff;
  into.spread = Math.min(0xff, most - least);
}

const edges = new Float64Array(Math.ceil(2 * REACH * NOISE_TABLE_MAX_LSB) + 2);
const within = (step: number): number => (step < 0 ? 0 : step > STEPS_MAX ? STEPS_MAX : step);

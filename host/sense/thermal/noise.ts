import { describe } from '../fit/describe.js';
import { meanOf, sumOf } from '../fit/sums.js';

/** Readings with a slow drift taken off: what is left is the noise of their mean. */
export interface SteadyMean {
  readonly n: number;
  readonly mean: number;
  /** Of the mean about what it was over the span; null with too few readings to see it. */
  readonly u_mean: number | null;
  readonly dof: number;
  /** Straight line through the readings, from the first to the last. */
  readonly drift: number;
  /** Of a single reading, about that line. */
  readonly sd: number;
}

/** Fewer readings than these show no scatter worth a Student factor. */
export const SCATTER_SEEN_n = 8;

/**
 * Mean of readings at even times. A straight drift is no error of the mean over the span, so the scatter is that about
 * the line; memory of the noise is counted (n_effective).
 */
export function steadyMean(y: readonly number[]): SteadyMean {
  const n = y.length;
  const mean = meanOf(y);
  if (n < SCATTER_SEEN_n) return { n, mean, u_mean: null, dof: 0, drift: (y.at(-1) ?? 0) - (y[0] ?? 0), sd: 0 };
  const x = y.map((_, i) => i - (n - 1) / 2);
  const slope = sumOf(y.map((v, i) => (v - mean) * (x[i] ?? 0))) / sumOf(x.map((v) => v * v));
  const rest = describe(y.map((v, i) => v - mean - slope * (x[i] ?? 0)));
  // The line took one degree of freedom more than describe knows of.
  const dof = Math.max(1, rest.dof - 1);
  const wider = Math.sqrt((n - 1) / (n - 2));
  const sd = (rest.sd ?? 0) * wider;
  return { n, mean, u_mean: rest.u_mean === null ? sd : rest.u_mean * wider, dof, drift: slope * (n - 1), sd };
}

/**
 * What rounding to whole steps leaves in the mean of many readings with Gaussian noise of that sd, as a standard
 * uncertainty in steps: root of sum over k of exp(-4 pi^2 k^2 sd^2) / (2 pi^2 k^2), the variance of the Fourier series of
 * the rounding error (Widrow and Kollar, Quantization Noise). 1/sqrt(12) without noise, 0.005 with half a step.
 */
export function rounding_step(noise_sd_step: number): number {
  let variance = 0;
  // Without noise the sum is known and slow.
  if (noise_sd_step < 0.02) return Math.sqrt(1 / 12);
  for (let k = 1; k <= 40; k++) variance += Math.exp(-4 * Math.PI ** 2 * k * k * noise_sd_step ** 2) / (2 * Math.PI ** 2 * k * k);
  return Math.sqrt(variance);
}

/** Sd in steps of what was rounded, from that of the whole steps: rounding itself adds 1/12. */
export function noiseBeforeRounding_step(sd_of_steps: number): number {
  return Math.sqrt(Math.max(0, sd_of_steps * sd_of_steps - 1 / 12));
}

export function sdOf(y: readonly number[]): number {
  if (y.length < 2) return 0;
  const mean = meanOf(y);
  return Math.sqrt(sumOf(y.map((v) => (v - mean) ** 2)) / (y.length - 1));
}

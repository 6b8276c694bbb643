import { WATER_SAMPLES } from '../../protocol/messages.js';

export const waterInputs = ['in', 'out', 'skin', 'spare'] as const;
export type WaterInput = (typeof waterInputs)[number];

export interface InputReading {
  /** Of the converter's supply (AVcc), 0 to 1; null with a fault. */
  readonly ratio: number | null;
  /** All conversions lay on an end of the range: that limits, and does not measure. */
  readonly fault: 'low_end' | 'high_end' | null;
  /** Largest less smallest conversion, in steps of AVcc / 1024; stops at 255. */
  readonly spread_step: number;
  /** Whether the input's own noise spans so many steps that the mean means something below one. */
  readonly dithered: boolean;
}

const STEPS = 1024;
/**
 * The range of 64 samples of Gaussian noise is about 4.7 standard deviations, so two steps take
 * some 0.3 step (or more), where the mean of rounded samples errs by
 * exp(-2 pi^2 sigma^2) / pi = 0.05 step (first harmonic of the rounding error, Widrow).
 */
const DITHERED_steps = 2;

/** @param sum of WATER_SAMPLES conversions of 10 bits */
export function inputReading(sum: number, spread: number): InputReading {
  const fault = sum === 0 ? 'low_end' : sum >= WATER_SAMPLES * (STEPS - 1) ? 'high_end' : null;
  return { ratio: fault === null ? sum / (WATER_SAMPLES * STEPS) : null, fault, spread_step: spread, dithered: spread >= DITHERED_steps };
}

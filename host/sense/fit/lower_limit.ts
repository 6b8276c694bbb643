import { fittedAt, type PolynomialFit } from './polynomial.js';

/** ASTM E74 (E74-18, as quoted in public articles): the factor, and the loads from which a class holds. */
export const LLF_FACTOR = 2.4;
const CLASS_A = 400;
const CLASS_AA = 2000;
/** What E74 asks of a calibration (from memory). */
export const E74_APPLICATIONS = 30;
export const E74_DISTINCT_LOADS = 10;

export interface LowerLimit {
  /** Lower limit factor in the unit of the loads; null where no point is left over, so that nothing shows a scatter. */
  readonly llf: number | null;
  /** What set it. */
  readonly set_by: 'scatter' | 'resolution' | null;
  /** Standard deviation of the points about the curve, in y, and y per load along the span. */
  readonly sd_y: number | null;
  readonly mean_slope: number;
  /** From these loads on the curve errs by less than 0.25 % (class A) and 0.05 % (class AA); null as llf. */
  readonly class_A_from: number | null;
  readonly class_AA_from: number | null;
  /** What E74 would ask, and what there was: with less it is a lower limit factor as E74 computes it, not one of an E74 calibration. */
  readonly applications: { readonly had: number; readonly asked: number };
  readonly distinct_loads: { readonly had: number; readonly asked: number };
  readonly as_E74_asks: boolean;
}

/**
 * 2.4 s over the mean slope, never below the resolution. Applications of no load do not count.
 * @param x the loads that were fitted; @param resolution of the indication, in the unit of the loads
 */
export function lowerLimit(x: readonly number[], fit: PolynomialFit, resolution: number): LowerLimit {
  const low = Math.min(...x);
  const high = Math.max(...x);
  const mean_slope = (fittedAt(fit, high) - fittedAt(fit, low)) / (high - low);
  const scatter = fit.residual_sd === null ? null : (LLF_FACTOR * fit.residual_sd) / Math.abs(mean_slope);
  const llf = scatter === null ? null : Math.max(scatter, resolution);
  const loaded = x.filter((v) => v !== 0);
  const applications = { had: loaded.length, asked: E74_APPLICATIONS };
  const distinct_loads = { had: new Set(loaded).size, asked: E74_DISTINCT_LOADS };
  return {
    llf,
    set_by: scatter === null ? null : scatter >= resolution ? 'scatter' : 'resolution',
    sd_y: fit.residual_sd,
    mean_slope,
    class_A_from: llf === null ? null : CLASS_A * llf,
    class_AA_from: llf === null ? null : CLASS_AA * llf,
    applications,
    distinct_loads,
    as_E74_asks: applications.had >= applications.asked && distinct_loads.had >= distinct_loads.asked,
  };
}

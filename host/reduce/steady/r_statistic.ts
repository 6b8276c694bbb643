/**
 * Filtered ratio of variances (S. Cao and R. R. Rhinehart, J. Process Control 5 (1995) 363): the variance about a filtered value
 * over the variance from one reading to the next. Near 1 for noise about a steady value, large on the move.
 */
export interface Filters {
  readonly value: number;
  readonly variance: number;
  readonly step: number;
}

/** The factors for which 1.44 is the 95 % point on white noise (the same paper). */
export const usualFilters: Filters = { value: 0.2, variance: 0.1, step: 0.1 };
export const R_95 = 1.44;

export class RStatistic {
  readonly #f: Filters;
  readonly #least: number;
  #filtered = NaN;
  #before = NaN;
  #variance = 0;
  #steps = 0;
  #n = 0;

  /** @param least_sd a smaller noise is taken as this one: against next to no noise any drift is on the move, however slow */
  constructor(filters: Filters = usualFilters, least_sd = 0) {
    this.#f = filters;
    this.#least = 2 * least_sd * least_sd;
  }

  /** Readings that the filters have forgotten their start after. */
  get warm(): boolean {
    return this.#n > 3 / Math.min(this.#f.value, this.#f.variance, this.#f.step);
  }

  /** @returns R with this reading; NaN after the first, and while nothing has changed at all */
  next(x: number): number {
    this.#n++;
    if (this.#n === 1) {
      this.#filtered = x;
      this.#before = x;
      return NaN;
    }
    const { value, variance, step } = this.#f;
    // About the filtered value as it was: with the new reading in it, it would follow what it is to judge.
    this.#variance = variance * (x - this.#filtered) ** 2 + (1 - variance) * this.#variance;
    this.#filtered = value * x + (1 - value) * this.#filtered;
    this.#steps = step * (x - this.#before) ** 2 + (1 - step) * this.#steps;
    this.#before = x;
    const steps = Math.max(this.#steps, this.#least);
    return steps === 0 ? NaN : ((2 - value) * this.#variance) / steps;
  }
}

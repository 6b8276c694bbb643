/** Both one-sided sums after each value. */
export interface Cusum {
  readonly high: number;
  readonly low: number;
  /** How many values the larger sum has run since it was last 0. */
  readonly running: number;
}

/**
 * Tabular cumulative sum (E. S. Page, Biometrika 41 (1954) 100): what lies further from the target than the allowance adds
 * up, what lies nearer takes off, never below 0.
 */
export class CusumSum {
  readonly #target: number;
  readonly #allowance: number;
  #high = 0;
  #low = 0;
  #high_n = 0;
  #low_n = 0;

  /** @param allowance half of the shift that is to be seen, in the unit of the values */
  constructor(target: number, allowance: number) {
    this.#target = target;
    this.#allowance = allowance;
  }

  next(x: number): Cusum {
    this.#high = Math.max(0, this.#high + x - this.#target - this.#allowance);
    this.#low = Math.max(0, this.#low + this.#target - x - this.#allowance);
    this.#high_n = this.#high === 0 ? 0 : this.#high_n + 1;
    this.#low_n = this.#low === 0 ? 0 : this.#low_n + 1;
    return { high: this.#high, low: this.#low, running: this.#high >= this.#low ? this.#high_n : this.#low_n };
  }
}

/** What a first-order process loses over a span, remembered for the next span that is as long: conversions come evenly. */
export class Decay {
  /** Share that is left, and share that is lost. */
  kept = 1;
  lost = 0;
  readonly #time_s: number;
  #span_s = 0;

  /** @param time_s 0: nothing is ever left */
  constructor(time_s: number) {
    this.#time_s = time_s;
  }

  /** Sets both for a span; one that differs by less than a part in 10^9, as times do by rounding, is the same. */
  over(span_s: number): this {
    if (Math.abs(span_s - this.#span_s) > 1e-9 * this.#span_s) {
      this.#span_s = span_s;
      this.lost = this.#time_s > 0 ? -Math.expm1(-span_s / this.#time_s) : 1;
      this.kept = 1 - this.lost;
    }
    return this;
  }
}

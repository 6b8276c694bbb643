/** Half-widths of the play operators as shares of the range: halved each time, so that a small loop is as fat for its size as a large one. */
const PLAYS = [1 / 4, 1 / 8, 1 / 16, 1 / 32, 1 / 64, 1 / 128] as const;
const SUM = PLAYS.reduce((a, b) => a + b, 0);

/**
 * Memory of a spring: what it feels depends on whether it came from more or from less. A sum of
 * play operators (Prandtl's model): each follows the force only once it has run past its slack.
 * Rate plays no part, so the time between two forces is of no account.
 *
 * Over a full cycle, nothing to `range_N` and back, the two branches meet at both ends, and lie
 * `share` of the range apart half-way, the falling one above. It begins as left by such a cycle.
 */
export class Hysteresis {
  readonly #weight: number;
  readonly #range_N: number;
  readonly #slack_N = new Float64Array(PLAYS.length);
  readonly #at_N = new Float64Array(PLAYS.length);
  readonly #tilt: number;

  constructor(share: number, range_N: number) {
    this.#weight = share / (2 * SUM);
    this.#range_N = range_N;
    for (const [i, play] of PLAYS.entries()) this.#at_N[i] = this.#slack_N[i] = play * range_N;
    this.#tilt = PLAYS.length - 2 * SUM;
  }

  /** What is felt beyond the force itself, after the force went straight from the last one to this. */
  beyond_N(force_N: number): number {
    let sum_N = 0;
    for (let i = 0; i < PLAYS.length; i++) {
      const slack_N = this.#slack_N[i] as number;
      const at_N = Math.min(force_N + slack_N, Math.max(force_N - slack_N, this.#at_N[i] as number));
      this.#at_N[i] = at_N;
      sum_N += at_N;
    }
    // Less the straight line through the ends of a full cycle: the slope stays the scenario's.
    return this.#weight * (sum_N - SUM * this.#range_N - this.#tilt * force_N);
  }
}

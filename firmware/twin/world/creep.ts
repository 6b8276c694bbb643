import { Decay } from './decay.js';

/** One part of a creep. */
export interface CreepRig {
  /** What it comes to in the end, as a share of the load. */
  readonly share: number;
  readonly time_s: number;
}

/**
 * A spring that goes on giving under a load, and comes back as slowly when the load is gone: each
 * part follows its share of the load with one time constant. Exact for a load held between two calls.
 */
export class Creep {
  readonly #parts: readonly CreepRig[];
  readonly #crept_N: Float64Array;
  readonly #decays: readonly Decay[];

  constructor(parts: readonly CreepRig[]) {
    this.#parts = parts;
    this.#decays = parts.map((p) => new Decay(p.time_s));
    this.#crept_N = new Float64Array(parts.length);
  }

  /** What is felt beyond the force itself, after that force for `span_s`. */
  beyond_N(force_N: number, span_s: number): number {
    let sum_N = 0;
    for (let i = 0; i < this.#parts.length; i++) {
      const { share } = this.#parts[i] as CreepRig;
      const crept_N = this.#crept_N[i] as number;
      sum_N += this.#crept_N[i] = crept_N + (share * force_N - crept_N) * (this.#decays[i] as Decay).over(span_s).lost;
    }
    return sum_N;
  }
}

import { Decay } from './decay.js';
import type { RandomStream } from './random.js';

export interface CellNoiseRig {
  /** Standard deviation of one conversion. */
  readonly noise_counts: number;
  /** A share of the conversions is that many times as noisy as the others; noise_counts is still that of them all. */
  readonly noise_tail?: { readonly share: number; readonly factor: number };
  /** Noise with a memory: its standard deviation, and the time after which 1/e of a deviation is left. */
  readonly wander?: { readonly counts: number; readonly time_s: number };
  /** Results that cannot be: far to the empty side of no load. */
  readonly glitches_per_h?: number;
  readonly zero_counts: number;
  readonly slope_counts_per_N: number;
}

/** A glitch lies at least this far from the zero, and anywhere from there to the end of the range. */
const GLITCH_MIN_counts = 300_000;
const END_counts = 2 ** 23;

/** What is random about one conversion. Whatever is left out of the rig draws nothing. */
export class CellNoise {
  readonly #rig: CellNoiseRig;
  readonly #noise: RandomStream;
  readonly #tail: RandomStream | undefined;
  readonly #wander: RandomStream | undefined;
  readonly #glitches: RandomStream | undefined;
  /** Standard deviation of those that are not in the tail. */
  readonly #calm_counts: number;
  readonly #wanders: Decay;
  #wander_counts = NaN;
  #glitch_s = Infinity;

  constructor(rig: CellNoiseRig, noise: RandomStream, streams: (name: string) => RandomStream = () => noise) {
    this.#rig = rig;
    this.#noise = noise;
    const { noise_tail: tail } = rig;
    this.#tail = tail === undefined ? undefined : streams('cell.tail');
    this.#wanders = new Decay(rig.wander?.time_s ?? 0);
    this.#wander = rig.wander === undefined ? undefined : streams('cell.wander');
    this.#calm_counts = tail === undefined ? rig.noise_counts : rig.noise_counts / Math.sqrt(1 + tail.share * (tail.factor * tail.factor - 1));
    if (rig.glitches_per_h !== undefined && rig.glitches_per_h > 0) {
      this.#glitches = streams('cell.glitches');
      this.#glitch_s = this.#wait_s(this.#glitches);
    }
  }

  /** In counts, `span_s` after the last. */
  next(span_s: number): number {
    const rig = this.#rig;
    let counts = this.#calm_counts * this.#noise.normal();
    if (this.#tail !== undefined && rig.noise_tail !== undefined && this.#tail.uniform() < rig.noise_tail.share) counts *= rig.noise_tail.factor;
    if (this.#wander !== undefined && rig.wander !== undefined) {
      // The exact step of a first-order process, however long the span; it begins anywhere in its spread.
      const fresh = rig.wander.counts * this.#wander.normal();
      const { kept, lost } = this.#wanders.over(span_s);
      this.#wander_counts = Number.isNaN(this.#wander_counts) ? fresh : kept * this.#wander_counts + Math.sqrt(lost * (1 + kept)) * fresh;
      counts += this.#wander_counts;
    }
    return counts;
  }

  /** The count that is given for this one. */
  glitch(t_s: number, count: number): number {
    if (t_s < this.#glitch_s || this.#glitches === undefined) return count;
    while (this.#glitch_s <= t_s) this.#glitch_s += this.#wait_s(this.#glitches);
    const empty = this.#rig.slope_counts_per_N < 0 ? 1 : -1;
    const room = Math.max(0, END_counts - 1 + empty * -this.#rig.zero_counts - GLITCH_MIN_counts);
    return Math.round(this.#rig.zero_counts + empty * (GLITCH_MIN_counts + room * this.#glitches.uniform()));
  }

  /** Of events that do not know of each other. */
  #wait_s(stream: RandomStream): number {
    return (-Math.log1p(-stream.uniform()) * 3600) / (this.#rig.glitches_per_h ?? 0);
  }
}

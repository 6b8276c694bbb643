import type { RandomStream } from '../world/random.js';

/** The cable between board and computer: may be pulled, may pick up noise. */
export class Cable {
  plugged = true;
  /** Share of the bytes in which one bit is turned over. */
  noise_share = 0;
  readonly #noise: RandomStream;

  constructor(noise: RandomStream) {
    this.#noise = noise;
  }

  /** Every byte comes out as it went in. */
  get clean(): boolean {
    return this.plugged && this.noise_share === 0;
  }

  /** The byte as it comes out at the other end; -1 if it does not. */
  carry(byte: number): number {
    if (!this.plugged) return -1;
    if (this.noise_share === 0 || this.#noise.uniform() >= this.noise_share) return byte;
    return byte ^ (1 << Math.floor(this.#noise.uniform() * 8));
  }
}

import { PRELOADS } from './load_steps.js';

/** Apart by so many times the noise of a conversion: a load was hung or taken off. */
const APART_noises = 20;
const NEAR_SHARE = 0.25;

/** The greatest load hung and taken off, seen by the levels at which the count settles. It begins with nothing on the arm. */
export class Preload {
  #base: number | null = null;
  #top: number | null = null;
  #loaded = false;
  #cycles = 0;

  get cycles(): number {
    return this.#cycles;
  }

  get done(): boolean {
    return this.#cycles >= PRELOADS;
  }

  get says(): string {
    return this.#loaded ? `Preload ${this.#cycles + 1} of ${PRELOADS}: seen.` : `Preload ${this.#cycles} of ${PRELOADS}: taken off.`;
  }

  wants(mass: string): string {
    if (this.#base === null) return 'the arm must be empty to begin with';
    return this.#loaded ? `take ${mass} off again` : `hang ${mass}`;
  }

  /** @returns whether the load changed with this reading */
  settled(count: number, noise: number): boolean {
    if (this.#base === null) {
      this.#base = count;
      return false;
    }
    const loaded = this.#top === null ? Math.abs(count - this.#base) > APART_noises * noise : Math.abs(count - this.#base) > 0.5 * Math.abs(this.#top - this.#base);
    if (loaded === this.#loaded) return false;
    this.#loaded = loaded;
    if (loaded) this.#top = count;
    else {
      this.#base = count;
      this.#cycles++;
    }
    return true;
  }

  /** Where a settled count stands, as far as the preload has shown. */
  where(count: number, noise: number): 'empty' | 'loaded' | 'unknown' {
    if (this.#base === null || this.#top === null) return 'unknown';
    return Math.abs(count - this.#base) <= NEAR_SHARE * Math.abs(this.#top - this.#base) + noise ? 'empty' : 'loaded';
  }
}

import { seeded } from '../../support/random.js';

/** Rigs of one kind differ only in what is drawn at random, so that their errors share one true distribution. */
export const RIGS_A_KIND = 20;

export interface Rig {
  readonly index: number;
  readonly kind: number;
  readonly broken: boolean;
  /** Draws that all rigs of its kind share: sizes, classes, load, times. */
  readonly ofKind: Draws;
  /** Its own draws: what the builder cannot know. */
  readonly own: Draws;
  /** Of its twin. */
  readonly seed: number;
  /** The same rig, its draws from the start. */
  anew(): Rig;
}

/** A third of all rigs break the assumptions: every third kind. */
export function rigAt(seed: number, index: number): Rig {
  const kind = Math.floor(index / RIGS_A_KIND);
  const own = new Draws(mixed(seed, 2 * index + 1));
  return { index, kind, broken: kind % 3 === 2, ofKind: new Draws(mixed(seed, -1 - kind)), own, seed: Math.floor(own.uniform(0, 2 ** 32)), anew: () => rigAt(seed, index) };
}

/** How many rigs in all, so that `kept` of them keep to the assumptions. */
export const rigsInAll = (kept: number): number => Math.ceil((kept / RIGS_A_KIND) * 1.5) * RIGS_A_KIND;

export class Draws {
  readonly #next: () => number;

  constructor(seed: number) {
    this.#next = seeded(seed);
    // The first numbers of near seeds are near.
    for (let i = 0; i < 4; i++) this.#next();
  }

  uniform(low: number, high: number): number {
    return low + (high - low) * this.#next();
  }

  /** Evenly over the ratio: as likely between 1 and 2 as between 2 and 4. */
  logUniform(low: number, high: number): number {
    return low * (high / low) ** this.#next();
  }

  normal(): number {
    return Math.sqrt(-2 * Math.log(1 - this.#next())) * Math.cos(2 * Math.PI * this.#next());
  }

  pick<T>(from: readonly T[]): T {
    const one = from[Math.floor(this.#next() * from.length)];
    if (one === undefined) throw new Error('nothing to pick from');
    return one;
  }

  sign(): 1 | -1 {
    return this.#next() < 0.5 ? -1 : 1;
  }
}

/** 32 bits of both (finaliser of MurmurHash3, A. Appleby, public domain). */
function mixed(seed: number, index: number): number {
  let z = (Math.imul(seed ^ Math.floor(seed / 2 ** 32), 0x9e3779b1) ^ Math.imul(index, 0x85ebca77)) | 0;
  z = Math.imul(z ^ (z >>> 16), 0x85ebca6b);
  z = Math.imul(z ^ (z >>> 13), 0xc2b2ae35);
  return (z ^ (z >>> 16)) >>> 0;
}

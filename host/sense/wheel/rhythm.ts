import { EARLY, LATE } from './limits.js';

/** Intervals over which the median is taken. */
const RECENT = 5;
/** Share of the newest interval in what is known of its sector, once some have been seen. */
const GAIN = 0.15;

/**
 * How the edges follow each other: the time of a mean sector as the median of recent ones, and how long each sector is
 * beside the mean. Sector lengths are followed as the intervals show them, the engine's own swing included: they serve to
 * judge edges, not to know magnets.
 */
export class Rhythm {
  readonly #length: Float64Array;
  readonly #seen: Uint16Array;
  /** Intervals over the length of their sector, a ring. */
  readonly #recent = new Float64Array(RECENT);
  #at = 0;
  #sector = 0;
  #median: number;
  #last: number;

  /**
   * @param sector_ticks time of a mean sector
   * @param lengths of the sectors from the next one on, 1 for a mean one
   */
  constructor(sector_ticks: number, lengths: readonly number[]) {
    this.#length = Float64Array.from(lengths);
    this.#seen = new Uint16Array(lengths.length);
    this.#recent.fill(sector_ticks);
    this.#median = sector_ticks;
    this.#last = sector_ticks;
  }

  /** Time of a mean sector. */
  get sector_ticks(): number {
    return this.#median;
  }

  /** The interval over the one that is due by the median, or by the newest sector if that was quicker: the shaft may be gaining speed. */
  early(ticks: number): number {
    return ticks / (Math.min(this.#median, this.#last) * this.#lengthAt(0));
  }

  /** The same for a shaft that may be losing speed; half way, so that one sector that came late does not hide a hole after it. */
  late(ticks: number): number {
    return ticks / (((this.#median + Math.max(this.#median, this.#last)) / 2) * this.#lengthAt(0));
  }

  /** In how many sectors, 2 to `most`, the shaft most likely turned; null: in more. */
  sectorsIn(ticks: number, most: number): number | null {
    // Nearer to what the newest sector says, since a shaft that speeds up or slows down goes on doing so.
    const wanted = ticks / ((this.#median + this.#last) / 2);
    let sum = this.#lengthAt(0);
    for (let m = 2; m <= most; m++) {
      const next = this.#lengthAt(m - 1);
      sum += next;
      if (wanted < sum + this.#lengthAt(m) / 2) return m;
    }
    return null;
  }

  /** Goes on by `sectors` that took `ticks`. */
  pass(ticks: number, sectors: number): void {
    let length = 0;
    for (let m = 0; m < sectors; m++) length += this.#lengthAt(m);
    const mean = ticks / length;
    this.#recent[this.#at] = mean;
    this.#at = (this.#at + 1) % RECENT;
    this.#last = mean;
    this.#median = median5(this.#recent);
    if (sectors === 1) this.#learn(ticks);
    this.#sector = (this.#sector + sectors) % this.#length.length;
  }

  #lengthAt(ahead: number): number {
    return this.#length[(this.#sector + ahead) % this.#length.length] as number;
  }

  #learn(ticks: number): void {
    const k = this.#sector;
    const n = this.#length.length;
    if (n === 1) return;
    const seen = Math.min(1000, (this.#seen[k] as number) + 1);
    this.#seen[k] = seen;
    const ratio = Math.min(LATE, Math.max(EARLY, ticks / (this.#median * (this.#length[k] as number))));
    this.#length[k] = (this.#length[k] as number) * (1 + Math.max(GAIN, 1 / (seen + 1)) * (ratio - 1));
    if (k !== n - 1) return;
    // Only their ratios mean anything: the mean stays 1.
    let sum = 0;
    for (const length of this.#length) sum += length;
    for (let i = 0; i < n; i++) this.#length[i] = ((this.#length[i] as number) * n) / sum;
  }
}

function median5(x: Float64Array): number {
  // Of two pairs the smaller of the lesser and the larger of the greater cannot be the median of five.
  // One by one: taken apart at once, each edge would make a dozen objects.
  const a = x[0] as number;
  const b = x[1] as number;
  const c = x[2] as number;
  const d = x[3] as number;
  const e = x[4] as number;
  const low = Math.max(Math.min(a, b), Math.min(c, d));
  const high = Math.min(Math.max(a, b), Math.max(c, d));
  return Math.max(Math.min(low, high), Math.min(Math.max(low, high), e));
}

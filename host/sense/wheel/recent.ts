import type { MarkedEdges } from './batch.js';
import type { WheelLimits } from './limits.js';
import { EdgeMarker, marks } from './marker.js';
import type { Mark } from './marker.js';

/** Bound of what is kept, at 400 edges a second ten seconds. */
const EDGES_MAX = 4096;

/** The last edges of a stream with their marks, as a batch has them. */
export class RecentEdges {
  readonly #marker: EdgeMarker;
  readonly #keep: number;
  #ticks: number[] = [];
  #mark: number[] = [];
  #stretch: number[] = [];
  #sector: number[] = [];
  #stretches = -1;
  #sum = 0;
  #rhythmic = false;

  /** @param keep_us how far back; of a slow shaft two revolutions at least */
  constructor(magnets: number, us_per_tick: number, keep_us: number, limits?: WheelLimits) {
    this.#marker = new EdgeMarker(magnets, us_per_tick, limits);
    this.#keep = keep_us / us_per_tick;
  }

  get magnets(): number {
    return this.#marker.magnets;
  }

  edge(tick: number): Mark {
    const mark = this.#marker.edge(tick);
    const rhythmic = this.#marker.rhythmic;
    if (rhythmic && !this.#rhythmic) {
      this.#stretches++;
      this.#sum = 0;
    } else if (rhythmic) this.#sum += this.#marker.sectors;
    this.#rhythmic = rhythmic;
    this.#ticks.push(tick);
    this.#mark.push(marks.indexOf(mark));
    this.#stretch.push(rhythmic && (mark === 'good' || mark === 'missed') ? this.#stretches : -1);
    this.#sector.push(this.#sum);
    this.#forget(tick);
    return mark;
  }

  hole(): void {
    this.#marker.begin();
    this.#rhythmic = false;
  }

  marked(): MarkedEdges {
    return {
      ticks: this.#ticks,
      magnets: this.magnets,
      mark: Uint8Array.from(this.#mark),
      stretch: Int32Array.from(this.#stretch),
      sector: Int32Array.from(this.#sector),
      counts: this.#marker.counts,
    };
  }

  /** Half at a time: to shift each edge out by itself would cost more than to judge it. */
  #forget(tick: number): void {
    const n = this.#ticks.length;
    const half = n >> 1;
    const least = 4 * this.magnets + 8;
    if (n < EDGES_MAX && (half < least || (this.#ticks[half] as number) > tick - this.#keep)) return;
    this.#ticks = this.#ticks.slice(half);
    this.#mark = this.#mark.slice(half);
    this.#stretch = this.#stretch.slice(half);
    this.#sector = this.#sector.slice(half);
  }
}

import type { WheelLimits } from './limits.js';
import { EdgeMarker, marks } from './marker.js';
import type { MarkCounts } from './marker.js';

/** One entry for each edge. */
export interface MarkedEdges {
  readonly ticks: ArrayLike<number>;
  readonly magnets: number;
  /** Index into `marks`. */
  readonly mark: Uint8Array;
  /** Stretches in which the count is right are numbered from 0; -1: the edge counts nothing. */
  readonly stretch: Int32Array;
  /** Sectors that the shaft has turned since its stretch began; whole revolutions apart is the same magnet. */
  readonly sector: Int32Array;
  readonly counts: MarkCounts;
}

const code = Object.fromEntries(marks.map((mark, i) => [mark, i])) as Record<(typeof marks)[number], number>;

/**
 * The same as an EdgeMarker, over an array.
 * @param ticks rising
 * @param holes ticks in rising order, behind each of which edges are lost up to the next edge
 */
export function markEdges(ticks: ArrayLike<number>, magnets: number, us_per_tick: number, limits?: WheelLimits, holes: ArrayLike<number> = []): MarkedEdges {
  const n = ticks.length;
  const marker = new EdgeMarker(magnets, us_per_tick, limits);
  const mark = new Uint8Array(n);
  const stretch = new Int32Array(n).fill(-1);
  const sector = new Int32Array(n);
  let stretches = -1;
  let sum = 0;
  let rhythmic = false;
  let hole = 0;
  for (let i = 0; i < n; i++) {
    const tick = ticks[i] as number;
    if (hole < holes.length && tick > (holes[hole] as number)) {
      while (hole < holes.length && tick > (holes[hole] as number)) hole++;
      marker.begin();
      rhythmic = false;
    }
    const said = marker.edge(tick);
    mark[i] = code[said];
    if (!marker.rhythmic) {
      rhythmic = false;
      continue;
    }
    if (!rhythmic) {
      stretches++;
      sum = 0;
    } else sum += marker.sectors;
    sector[i] = sum;
    if (said === 'good' || said === 'missed') stretch[i] = stretches;
    rhythmic = true;
  }
  return { ticks, magnets, mark, stretch, sector, counts: marker.counts };
}

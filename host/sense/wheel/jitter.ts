import type { MarkedEdges } from './batch.js';

/** Scatter of the time at which a magnet is seen, one standard deviation, that of whole ticks taken off. */
export interface Jitter {
  readonly ticks: number;
  readonly dof: number;
}

/** Squares of the weights 1, -3, 3, -1 of a third difference. */
const SQUARES = 20;
/** Its correlation with the next ones is -15/20, 6/20, -1/20: as many independent ones are n over 1 + 2 sum of squares. */
const MEMORY = 1 + 2 * ((15 / 20) ** 2 + (6 / 20) ** 2 + (1 / 20) ** 2);
/** Of a time that is told in whole ticks. */
const WHOLE_TICKS = 1 / 12;
const LEAST = 6;

/**
 * From third differences of the passings of one magnet: a speed that changes steadily, and changes that change steadily, drop
 * out of them, and so do spacing and what repeats each turn. What changes at random from turn to turn does not, so it counts
 * as scatter of the pickup: never too small.
 *
 * @param first index of the first edge, `end` of that after the last
 * @returns null: too few revolutions
 */
export function pickupJitter({ ticks, stretch, sector, magnets }: MarkedEdges, first: number, end: number): Jitter | null {
  let n = 0;
  let sum = 0;
  // The last passings of each magnet, newest first, with the sector number of the newest.
  const passed = Array.from({ length: magnets }, () => ({ stretch: -1, sector: 0, t: [] as number[] }));
  for (let i = first; i < end; i++) {
    if ((stretch[i] as number) < 0) continue;
    const s = sector[i] as number;
    const magnet = passed[s % magnets] as (typeof passed)[number];
    if (magnet.stretch !== stretch[i] || s !== magnet.sector + magnets) magnet.t.length = 0;
    magnet.stretch = stretch[i] as number;
    magnet.sector = s;
    magnet.t.unshift(ticks[i] as number);
    if (magnet.t.length < 4) continue;
    const [d, c, b, a] = magnet.t as [number, number, number, number];
    magnet.t.length = 3;
    sum += (d - 3 * c + 3 * b - a) ** 2;
    n++;
  }
  if (n < LEAST) return null;
  return { ticks: Math.sqrt(Math.max(0, sum / n / SQUARES - WHOLE_TICKS)), dof: n / MEMORY };
}

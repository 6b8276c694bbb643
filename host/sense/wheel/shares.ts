import type { MarkedEdges } from './batch.js';

/** What whole revolutions say of one sector, in turns. */
export interface SectorSeen {
  readonly share: number;
  /** Of a single one. */
  readonly sd: number;
  /** Of `share`, the scatter of the edges being independent. */
  readonly u: number;
  readonly n: number;
  /** How the share changes with the square of the revolution's time, its own uncertainty, and the range of that square, in s. */
  readonly trend: { readonly per_s2: number; readonly u_per_s2: number };
}

export interface TurnSeen {
  /** Sector k goes from magnet k to the next; which magnet is 0 is where the stretch began. */
  readonly sectors: readonly SectorSeen[];
  readonly revolution_s: { readonly least: number; readonly most: number };
}

/** Ticks of the longest stretch by sector number; NaN: no such edge. */
export function longestStretch({ ticks, stretch, sector }: MarkedEdges): Float64Array {
  const length = new Map<number, number>();
  for (let i = 0; i < stretch.length; i++) if ((stretch[i] as number) >= 0) length.set(stretch[i] as number, sector[i] as number);
  let chosen = -1;
  for (const [which, sectors] of length) if (sectors > (length.get(chosen) ?? -1)) chosen = which;
  const t = new Float64Array((length.get(chosen) ?? -1) + 1).fill(NaN);
  for (let i = 0; i < stretch.length; i++) if (stretch[i] === chosen) t[sector[i] as number] = ticks[i] as number;
  return t;
}

/** Weights of the passings of one magnet, at -1, 0, 1 and 2 turns, in a cubic through them, at x turns. */
function cubic(x: number): readonly [number, number, number, number] {
  return [(-x * (x - 1) * (x - 2)) / 6, ((x + 1) * (x - 1) * (x - 2)) / 2, (-(x + 1) * x * (x - 2)) / 2, ((x + 1) * x * (x - 1)) / 6];
}

/** Turns of the shaft at `t`, by a cubic through four passings of one magnet: right for steady acceleration and for one that changes steadily. */
function turnsAt(t: number, [a, b, c, d]: readonly [number, number, number, number]): number {
  const atA = ((t - b) * (t - c) * (t - d)) / ((a - b) * (a - c) * (a - d));
  const atC = ((t - a) * (t - b) * (t - d)) / ((c - a) * (c - b) * (c - d));
  const atD = ((t - a) * (t - b) * (t - c)) / ((d - a) * (d - b) * (d - c));
  return -atA + atC + 2 * atD;
}

/**
 * Share of a turn of each sector, as the passings of the magnets show it: where magnet k+1 comes between passings of magnet
 * k one turn apart. A swing of the engine that repeats each turn cannot be told from spacing.
 *
 * @returns null: not one sector has a whole revolution before and two after it
 */
export function turnSeen(edges: MarkedEdges, us_per_tick: number): TurnSeen | null {
  const m = edges.magnets;
  const t = longestStretch(edges);
  const sums = Array.from({ length: m }, () => ({ n: 0, x: 0, xx: 0, z: 0, zz: 0, xz: 0 }));
  let least = Infinity;
  let most = 0;
  for (let s = m; s + 2 * m < t.length; s++) {
    const around = [t[s - m], t[s], t[s + m], t[s + 2 * m]] as [number, number, number, number];
    // Less the even share, so that sums of squares keep their digits.
    const x = turnsAt(t[s + 1] as number, around) - 1 / m;
    if (Number.isNaN(x)) continue;
    const revolution_s = ((around[2] - around[1]) * us_per_tick) / 1e6;
    least = Math.min(least, revolution_s);
    most = Math.max(most, revolution_s);
    const sum = sums[s % m] as (typeof sums)[number];
    const z = revolution_s * revolution_s;
    sum.n++;
    sum.x += x;
    sum.xx += x * x;
    sum.z += z;
    sum.zz += z * z;
    sum.xz += x * z;
  }
  if (sums.some((sum) => sum.n === 0)) return null;
  return {
    revolution_s: { least, most },
    sectors: sums.map(({ n, x, xx, z, zz, xz }) => {
      const share = 1 / m + x / n;
      const sxx = Math.max(0, xx - (x * x) / n);
      const szz = zz - (z * z) / n;
      const sxz = xz - (x * z) / n;
      const sd = n > 1 ? Math.sqrt(sxx / (n - 1)) : Infinity;
      const seen = szz > 1e-9 * zz && n > 2;
      const rest = seen ? Math.max(0, sxx - (sxz * sxz) / szz) / (n - 2) : Infinity;
      // The mean of many has the scatter of two edges; a single one that of its own magnet is spread over four passings.
      const own = cubic(share).reduce((sum, w) => sum + w * w, 1);
      return { share, sd, n, u: (sd / Math.sqrt(n)) * Math.sqrt(2 / own), trend: { per_s2: seen ? sxz / szz : 0, u_per_s2: seen ? Math.sqrt(rest / szz) : Infinity } };
    }),
  };
}

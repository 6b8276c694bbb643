import type { Quantity } from '../../sense/uncertainty/quantity.js';

export interface Between {
  /** Standard uncertainty of ln(mean of b / mean of a) from what neither cancels nor shows in the scatter of the runs. */
  readonly u: number;
  /** Its parts, largest first. */
  readonly sources: readonly { readonly id: string; readonly says: string; readonly u: number }[];
}

/** Smaller than this share it is the rounding of what cancels. */
const NOTHING = 1e-9;

/**
 * What calibrations do to a comparison. A systematic source that all runs of both builds share moves both alike and
 * cancels in the ratio; one that came in between the builds does not. One that is in a single run of several (its zero)
 * differs from run to run, so the scatter of the runs shows it already; random parts do as well.
 *
 * @param a results of the runs of either build with their sources, above 0
 */
export function between(a: readonly Quantity[], b: readonly Quantity[]): Between {
  const sums = new Map<string, { readonly says: string; u: number; runs: number; alone: boolean }>();
  for (const [side, sign] of [[a, -1], [b, 1]] as const) {
    const mean = side.reduce((s, q) => s + Math.log(q.value), 0) / side.length;
    if (!Number.isFinite(mean)) continue;
    for (const q of side) {
      for (const { source, c_u } of q.parts) {
        if (source.kind !== 'systematic') continue;
        const sum = sums.get(source.id) ?? { says: source.says, u: 0, runs: 0, alone: false };
        sum.u += (sign * c_u) / q.value / side.length;
        sum.runs++;
        sum.alone ||= side.length === 1;
        sums.set(source.id, sum);
      }
    }
  }
  const sources = [...sums]
    .flatMap(([id, { says, u, runs, alone }]) => ((runs > 1 || alone) && Math.abs(u) > NOTHING ? [{ id, says, u: Math.abs(u) }] : []))
    .sort((x, y) => y.u - x.u);
  return { u: Math.hypot(...sources.map((s) => s.u)), sources };
}

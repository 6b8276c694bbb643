/** Means over stretches of time of samples that each stand for a piece of it. */

/**
 * The bridge converter's result stands for the force some conversions before it became ready: it settles in four (HX711
 * sheet), and the middle of what it averages lies two back (common practice, no source: the filter is not published).
 */
export const CONVERSIONS_BACK = 2;
/** A sample stands for no more than this many periods; what lies beyond is a hole. */
const REACH_periods = 1.5;

export interface Samples {
  readonly n: number;
  /** Rising; when each became ready. */
  readonly tick: ArrayLike<number>;
  readonly value: ArrayLike<number>;
  /** 1: counts, 0: is left out. */
  readonly good: ArrayLike<number>;
}

export interface Stretch {
  readonly mean: number;
  /** Share of the stretch for which some sample stands. */
  readonly covered: number;
  /** Sum of weights in samples. */
  readonly samples: number;
}

/** Median of the time from one sample to the next, in ticks: as measured, never as strapped; NaN with fewer than two. */
export function period_ticks(tick: ArrayLike<number>, n: number): number {
  const gaps = Array.from({ length: Math.max(0, Math.min(n, 2001) - 1) }, (_, i) => (tick[i + 1] as number) - (tick[i] as number)).sort((a, b) => a - b);
  return gaps[gaps.length >> 1] ?? NaN;
}

/**
 * Mean over each stretch [bounds[i], bounds[i + 1]]: each sample stands from half way to the one before to half way to
 * the one after, `delay_ticks` earlier than it came, and counts by how much of that lies in the stretch.
 *
 * @param bounds rising
 */
export function meansOver(samples: Samples, bounds: ArrayLike<number>, period: number, delay_ticks: number): Stretch[] {
  const stretches: { sum: number; weight: number; from: number; to: number }[] = [];
  for (let i = 0; i + 1 < bounds.length; i++) stretches.push({ sum: 0, weight: 0, from: bounds[i] as number, to: bounds[i + 1] as number });
  const reach = REACH_periods * period;
  let first = 0;
  let before = -Infinity;
  for (let i = 0; i < samples.n; i++) {
    const at = (samples.tick[i] as number) - delay_ticks;
    const after = i + 1 < samples.n ? (samples.tick[i + 1] as number) - delay_ticks : Infinity;
    const low = at - Math.min(reach, (at - before) / 2, Number.isFinite(before) ? Infinity : period / 2);
    const high = at + Math.min(reach, (after - at) / 2, Number.isFinite(after) ? Infinity : period / 2);
    before = at;
    if (samples.good[i] !== 1) continue;
    while (first < stretches.length && (stretches[first] as { to: number }).to <= low) first++;
    for (let k = first; k < stretches.length; k++) {
      const s = stretches[k] as { sum: number; weight: number; from: number; to: number };
      if (s.from >= high) break;
      const weight = Math.min(high, s.to) - Math.max(low, s.from);
      if (weight <= 0) continue;
      s.sum += weight * (samples.value[i] as number);
      s.weight += weight;
    }
  }
  return stretches.map(({ sum, weight, from, to }) => ({ mean: weight > 0 ? sum / weight : NaN, covered: weight / (to - from), samples: weight / period }));
}

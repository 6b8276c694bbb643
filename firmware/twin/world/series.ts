/** A quantity that a scenario prescribes over bench time. */
export interface Series {
  /** `step` holds a value until the next point; `ramp` draws a line to it. */
  readonly between: 'step' | 'ramp';
  /** Rising in time. Before the first point its value holds, after the last point its value holds. */
  readonly points: readonly { readonly t_s: number; readonly value: number }[];
  /** If given, the programme starts again from 0 s whenever this much time has gone by. */
  readonly repeat_every_s?: number;
}

/** Value of the series at bench time `t_s`. */
export function seriesAt(series: Series, t_s: number): number {
  const { points, between, repeat_every_s } = series;
  const t = repeat_every_s === undefined ? t_s : t_s - Math.floor(t_s / repeat_every_s) * repeat_every_s;
  let before = points[0];
  if (before === undefined) return 0;
  for (const point of points) {
    if (point.t_s > t) {
      if (between === 'step' || point.t_s === before.t_s || t < before.t_s) return before.value;
      return before.value + ((point.value - before.value) * (t - before.t_s)) / (point.t_s - before.t_s);
    }
    before = point;
  }
  return before.value;
}

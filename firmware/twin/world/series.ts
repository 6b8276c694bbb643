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

/** The same for times that rise, without a search each time; and when the next point comes. */
export class SeriesReader {
  readonly #series: Series;
  #value = NaN;
  #from_s = Infinity;
  #until_s = -Infinity;

  constructor(series: Series) {
    this.#series = series;
  }

  /** Later than the last time asked about, if that lies before a point: the first such point. */
  get next_s(): number {
    return this.#until_s;
  }

  at(t_s: number): number {
    if (t_s >= this.#until_s || t_s < this.#from_s) this.#seek(t_s);
    return this.#series.between === 'step' ? this.#value : seriesAt(this.#series, t_s);
  }

  #seek(t_s: number): void {
    const { points, repeat_every_s } = this.#series;
    const round_s = repeat_every_s === undefined ? 0 : Math.floor(t_s / repeat_every_s) * repeat_every_s;
    const next = points.find((p) => round_s + p.t_s > t_s);
    this.#from_s = t_s;
    this.#until_s = next !== undefined ? round_s + next.t_s : repeat_every_s === undefined ? Infinity : round_s + repeat_every_s;
    // A round that ends before its own sum says so is begun by its number.
    if (this.#until_s <= t_s) this.#until_s = t_s + 1e-9;
    this.#value = seriesAt(this.#series, t_s);
  }
}

/** One reading of a channel at a time. */
export interface Reading {
  readonly t_s: number;
  readonly value: number;
}

export interface Trend {
  readonly n: number;
  readonly mean: number;
  /** About the line, not about the mean. */
  readonly sd: number;
  readonly slope_per_s: number;
  readonly u_slope_per_s: number;
  readonly span_s: number;
}

/** Straight line through readings, for how fast a channel still moves. null with fewer than three. */
export function trendOf(readings: readonly Reading[]): Trend | null {
  const n = readings.length;
  if (n < 3) return null;
  const t = readings.reduce((s, r) => s + r.t_s, 0) / n;
  const mean = readings.reduce((s, r) => s + r.value, 0) / n;
  let tt = 0;
  let tv = 0;
  for (const r of readings) {
    tt += (r.t_s - t) ** 2;
    tv += (r.t_s - t) * (r.value - mean);
  }
  if (tt === 0) return null;
  const slope_per_s = tv / tt;
  const rss = readings.reduce((s, r) => s + (r.value - mean - slope_per_s * (r.t_s - t)) ** 2, 0);
  const sd = Math.sqrt(rss / (n - 2));
  return { n, mean, sd, slope_per_s, u_slope_per_s: sd / Math.sqrt(tt), span_s: (readings[n - 1]?.t_s ?? 0) - (readings[0]?.t_s ?? 0) };
}

/**
 * Time until the slope over such a window of a channel that settles as exp(-t / tau) is below `limit_per_s`: it falls as the
 * channel itself does, with tau from how the slope of the newer half compares with that of the older. null: it does not slow
 * down, so nothing can be foretold.
 */
export function timeToSettle_s(readings: readonly Reading[], limit_per_s: number): number | null {
  const half = readings.length >> 1;
  const whole = trendOf(readings);
  const older = trendOf(readings.slice(0, half));
  const newer = trendOf(readings.slice(half));
  if (whole === null || older === null || newer === null) return null;
  const shrink = Math.abs(newer.slope_per_s) / Math.abs(older.slope_per_s);
  if (!(shrink < 1) || Math.sign(newer.slope_per_s) !== Math.sign(older.slope_per_s)) return null;
  const apart_s = (older.span_s + newer.span_s) / 2;
  const tau_s = -apart_s / Math.log(shrink);
  return Math.max(0, tau_s * Math.log(Math.abs(whole.slope_per_s) / limit_per_s));
}

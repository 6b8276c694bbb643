/** What a stretch of equally spaced readings shows of itself: mean, scatter, trend, swing. Values in, values out. */

export const meanOf = (x: readonly number[]): number => x.reduce((s, v) => s + v, 0) / x.length;

/** Standard deviation about a mean, n - 1. */
export function sdOf(x: readonly number[], mean = meanOf(x)): number {
  return x.length < 2 ? 0 : Math.sqrt(x.reduce((s, v) => s + (v - mean) ** 2, 0) / (x.length - 1));
}

export interface Trend {
  /** Per unit of `t`. */
  readonly slope: number;
  /** Its standard uncertainty, were the rest independent. */
  readonly u_slope: number;
  readonly rest: readonly number[];
  readonly sd_rest: number;
}

/** Straight line through readings at times `t`, and what is left. */
export function trendOf(t: readonly number[], x: readonly number[]): Trend {
  const [tm, xm] = [meanOf(t), meanOf(x)];
  let stt = 0;
  let stx = 0;
  for (let i = 0; i < x.length; i++) {
    const dt = (t[i] ?? 0) - tm;
    stt += dt * dt;
    stx += dt * ((x[i] ?? 0) - xm);
  }
  const slope = stt > 0 ? stx / stt : 0;
  const rest = x.map((v, i) => v - xm - slope * ((t[i] ?? 0) - tm));
  const sd_rest = x.length < 3 ? 0 : Math.sqrt(rest.reduce((s, r) => s + r * r, 0) / (x.length - 2));
  return { slope, u_slope: stt > 0 ? sd_rest / Math.sqrt(stt) : Infinity, rest, sd_rest };
}

/** Noise of one reading from steps between neighbours, so that neither drift nor a slow swing counts: their median over 0.954 (normal). */
export function stepNoise(x: readonly number[]): number {
  if (x.length < 2) return 0;
  const steps = x.slice(1).map((v, i) => Math.abs(v - (x[i] ?? v))).sort((a, b) => a - b);
  return (steps[steps.length >> 1] ?? 0) / 0.954;
}

export interface MeanReading {
  readonly mean: number;
  /** Standard uncertainty of the mean, what neighbours share included. */
  readonly u: number;
  /** Readings that are worth as much as these, were they independent, less 1. */
  readonly dof: number;
  readonly sd: number;
  readonly n: number;
}

/**
 * Mean with the standard uncertainty that its own readings show, autocorrelation included: var = sd^2 / n * (1 + 2 sum
 * (1 - k/n) r_k), the sum ended at the first pair of lags that adds nothing (initial positive sequence).
 */
export function meanReading(x: readonly number[]): MeanReading {
  const n = x.length;
  const mean = meanOf(x);
  const sd = sdOf(x, mean);
  if (n < 2 || sd === 0) return { mean, u: sd, dof: Math.max(1, n - 1), sd, n };
  const d = x.map((v) => v - mean);
  const c0 = d.reduce((s, v) => s + v * v, 0) / n;
  const r = (k: number): number => {
    let s = 0;
    for (let i = k; i < n; i++) s += (d[i] ?? 0) * (d[i - k] ?? 0);
    return s / n / c0;
  };
  // What white noise of this length shows of itself counts for nothing.
  const floor = 2 / Math.sqrt(n);
  let inflation = 1;
  for (let k = 1; k < n / 4; k++) {
    const r_k = r(k);
    if (r_k < floor) break;
    inflation += 2 * (1 - k / n) * r_k;
  }
  const n_eff = Math.max(2, n / inflation);
  return { mean, u: sd / Math.sqrt(n_eff), dof: n_eff - 1, sd, n };
}

export interface Swing {
  readonly f_Hz: number;
  /** Half of peak to peak. */
  readonly amplitude: number;
  /** Of the variance. */
  readonly share: number;
}

/** The strongest single oscillation in readings without trend, by the periodogram on a grid of half a line; null where there are too few. */
export function swingOf(rest: readonly number[], rate_Hz: number): Swing | null {
  const n = rest.length;
  if (n < 12) return null;
  const power = rest.reduce((s, v) => s + v * v, 0);
  if (power === 0) return null;
  let best = { f_Hz: 0, amplitude: 0, share: 0 };
  for (let half = 2; half < n; half++) {
    const w = (Math.PI * half) / n;
    // Goertzel's recurrence: one pass, no table.
    const c = 2 * Math.cos(w);
    let s1 = 0;
    let s2 = 0;
    for (let i = 0; i < n; i++) [s1, s2] = [(rest[i] ?? 0) + c * s1 - s2, s1];
    const p = s1 * s1 + s2 * s2 - c * s1 * s2;
    const share = Math.min(1, (2 * p) / (n * power));
    if (share > best.share) best = { f_Hz: (half * rate_Hz) / (2 * n), amplitude: (2 * Math.sqrt(Math.max(0, p))) / n, share };
  }
  return best;
}

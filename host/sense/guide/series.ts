/** What a stretch of equally spaced readings shows of itself: trend, noise, swing. Values in, values out. */

export const meanOf = (x: readonly number[]): number => x.reduce((s, v) => s + v, 0) / x.length;

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

export interface Swing {
  readonly f_Hz: number;
  /** Half of peak to peak. */
  readonly amplitude: number;
  /** Of the variance. */
  readonly share: number;
}

/** The strongest single oscillation in readings without trend, by the periodogram; null where there are too few. */
export function swingOf(rest: readonly number[], rate_Hz: number): Swing | null {
  const n = rest.length;
  const power = rest.reduce((s, v) => s + v * v, 0);
  if (n < 12 || power === 0) return null;
  const at = (lines: number): Swing => {
    const p = powerAt(rest, (2 * Math.PI * lines) / n);
    return { f_Hz: (lines * rate_Hz) / n, amplitude: (2 * Math.sqrt(p)) / n, share: Math.min(1, (2 * p) / (n * power)) };
  };
  const strongest = (tries: readonly number[]): { lines: number; swing: Swing } =>
    tries.map((lines) => ({ lines, swing: at(lines) })).reduce((m, t) => (t.swing.share > m.swing.share ? t : m));
  const coarse = strongest(Array.from({ length: n - 2 }, (_, i) => (i + 2) / 2));
  // Between two lines of the grid it would look weaker than it is.
  return strongest(Array.from({ length: 9 }, (_, i) => coarse.lines + (i - 4) / 16)).swing;
}

/** Squared size of the component at `w` radians a reading, by Goertzel's recurrence. */
function powerAt(x: readonly number[], w: number): number {
  const c = 2 * Math.cos(w);
  let s1 = 0;
  let s2 = 0;
  for (const v of x) [s1, s2] = [v + c * s1 - s2, s1];
  return Math.max(0, s1 * s1 + s2 * s2 - c * s1 * s2);
}

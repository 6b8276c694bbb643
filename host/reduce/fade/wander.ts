/**
 * How a sound channel moves by itself: white noise of one reading and a wander that forgets itself, as standard deviations in the
 * unit of the series.
 */
export interface Wander {
  readonly white: number;
  readonly slow: number;
  readonly slow_s: number;
}

/** Takes the wander out of a series: what is left are uncorrelated numbers of unit variance. */
export interface Whitener {
  /** @param series one value a time */
  of(series: ArrayLike<number>): Float64Array;
  /** Sum of the logarithms of the standard deviations that it divides by: half the log determinant of the covariance. */
  readonly log_sd: number;
}

/**
 * By the Kalman filter of that wander over these times. It is linear, so a series and any shape that may be in it can be
 * taken through it apart; sums of squares of what comes out are those of generalised least squares.
 *
 * @param t_s rising; gaps are allowed
 */
export function whitener(t_s: ArrayLike<number>, { white, slow, slow_s }: Wander): Whitener {
  const n = t_s.length;
  const kept = new Float64Array(n);
  const gain = new Float64Array(n);
  const per_sd = new Float64Array(n);
  let variance = slow * slow;
  for (let i = 0; i < n; i++) {
    const phi = i === 0 ? 0 : Math.exp(-((t_s[i] as number) - (t_s[i - 1] as number)) / slow_s);
    kept[i] = phi;
    variance = phi * phi * variance + (1 - phi * phi) * slow * slow;
    const total = variance + white * white;
    gain[i] = variance / total;
    per_sd[i] = 1 / Math.sqrt(total);
    variance *= 1 - (gain[i] as number);
  }
  return {
    log_sd: per_sd.reduce((s, v) => s - Math.log(v), 0),
    of(series) {
      const out = new Float64Array(n);
      let state = 0;
      for (let i = 0; i < n; i++) {
        state *= kept[i] as number;
        const off = (series[i] as number) - state;
        out[i] = off * (per_sd[i] as number);
        state += (gain[i] as number) * off;
      }
      return out;
    },
  };
}

/** Variance of a mean over a time, with readings so far apart. */
export function varianceOfMean({ white, slow, slow_s }: Wander, over_s: number, apart_s: number): number {
  const n = Math.max(1, over_s / apart_s);
  const x = over_s / slow_s;
  const slowly = x < 1e-6 ? 1 : (2 * (x - 1 + Math.exp(-x))) / (x * x);
  return (white * white) / n + slow * slow * slowly;
}

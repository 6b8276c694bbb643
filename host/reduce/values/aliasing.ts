/** Ripple of the torque that a converter of this rate shows as a slow breathing that is not there. */
export interface Aliasing {
  /** Of the ripple: so many times a revolution. */
  readonly order: number;
  /** Of the rate. */
  readonly multiple: number;
  /** Infinity: it stands, and looks like torque. */
  readonly beat_s: number;
  readonly rate_Hz: number;
  readonly says: string;
}

/** Orders that a crank engine's torque has in earnest (common practice, no source). */
const ORDERS = 12;
/** Fewer beats than this in the time averaged leave a part of the ripple in the mean. */
const BEATS_LEAST = 3;
const MULTIPLES = 2;

/**
 * Order m of n revolutions a second, near a multiple of the conversion rate, comes out at the difference of both.
 * @param rate_Hz of conversions, as measured
 * @param averaged_s time that the mean is over
 */
export function aliasing(rate_Hz: number, speed_rpm: number, averaged_s: number): Aliasing[] {
  const found: Aliasing[] = [];
  for (let order = 1; order <= ORDERS; order++) {
    for (let multiple = 1; multiple <= MULTIPLES; multiple++) {
      const beat_Hz = Math.abs((order * speed_rpm) / 60 - multiple * rate_Hz);
      if (!(beat_Hz * averaged_s < BEATS_LEAST)) continue;
      const beat_s = 1 / beat_Hz;
      const shows = Number.isFinite(beat_s) && beat_s < 1000 ? `breathes with a period of ${beat_s.toPrecision(2)} s` : 'stands in the mean';
      found.push({ order, multiple, beat_s, rate_Hz, says: `torque ripple ${order} times a revolution ${shows}: ${rate_Hz.toFixed(2)} conversions a second are near ${order} x ${speed_rpm.toFixed(0)} rev/min; vary the speed by 3 %` });
    }
  }
  return found;
}

/** What the analog converter adds of its own. */
export interface AdcRig {
  /** Worst deviation of the converter's curve from a straight line. */
  readonly inl_LSB: number;
  /** Standard deviation of one conversion; 0 shows bare steps. */
  readonly noise_LSB: number;
  /** What it reads too much: a share of the reading, and steps at any. */
  readonly gain_share?: number;
  readonly offset_LSB?: number;
}

/** Greatest value of the shape below, so that `inl_LSB` is the worst deviation. */
const SHAPE_MAX = 1.28569;

/** Deviation of the converter's curve in steps at a share of its range: smooth, nothing at the ends. The shape is ours. */
export function curve_LSB(share: number, inl_LSB: number): number {
  const turn = 2 * Math.PI * share;
  return (inl_LSB / SHAPE_MAX) * (Math.sin(turn) + 0.45 * Math.sin(2 * turn) + 0.15 * Math.sin(3 * turn));
}

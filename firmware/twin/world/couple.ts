/** The wires of one thermocouple, within their class. The shares' amounts add to at most 1. */
export interface CoupleRig {
  readonly class: 1 | 2;
  /** What it deviates throughout, as a share of its tolerance; positive gives more. */
  readonly share: number;
  /** What swings over the range besides, as a share of its tolerance. */
  readonly bend: number;
}

/** Tolerance of type K: the larger of a fixed one and a share of the temperature (IEC 60584-1, -40 to 1000 C in class 1, to 1200 C in class 2). */
const CLASS = { 1: { K: 1.5, per_C: 0.004 }, 2: { K: 2.5, per_C: 0.0075 } } as const;

export function tolerance_K(t_C: number, couple_class: 1 | 2): number {
  const { K, per_C } = CLASS[couple_class];
  return Math.max(K, per_C * Math.abs(t_C));
}

/**
 * The temperature at which a couple without deviation gives this one's voltage. The deviation is smooth, nothing at
 * 0 C, where the standard has its reference, and keeps below the tolerance's corner. The shape is ours.
 */
export function couple_C(t_C: number, { class: of, share, bend }: CoupleRig): number {
  const { K, per_C } = CLASS[of];
  const x = (per_C * t_C) / K;
  const far = Math.abs(x) > 1 ? (Math.sign(x) * (Math.abs(x) - 1) ** 2) / Math.abs(x) : 0;
  return t_C + K * (Math.tanh(2 * x) + far) * (share + bend * Math.cos(Math.PI * x));
}

/** How the load was reached: from below, from above; null: not told. */
export type Direction = 'up' | 'down' | null;

/** One load with the counts that it gave. */
export interface LoadPoint {
  /** In one unit for all points; 0: nothing hangs. */
  readonly load: number;
  readonly count: number;
  readonly direction: Direction;
  /** Random part of the mean, autocorrelation included; null or absent: not known. */
  readonly u_count?: number | null;
  /** Conversions in the mean. */
  readonly n?: number | null;
  /** When its middle was; only differences count. */
  readonly t_s?: number | null;
  /** Its place in the order in which loads were hung; absent: the order of the list, which nothing is refused for. */
  readonly sequence?: number | null;
}

/** In the order in which they were taken, as far as that is known. */
export function inOrder<P extends LoadPoint>(points: readonly P[]): P[] {
  const key = (p: P): number | null => p.sequence ?? p.t_s ?? null;
  return points.every((p) => key(p) !== null) ? points.toSorted((a, b) => (key(a) ?? 0) - (key(b) ?? 0)) : [...points];
}

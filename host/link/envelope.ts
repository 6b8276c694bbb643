/**
 * All straight lines that pass between bounds, as a polygon.
 *
 * A line y = offset + slope * x that must lie above some points and below others
 * is one point (offset, slope) inside a convex polygon: every bound cuts a half
 * plane off it. What the bounds leave open is the polygon's size, so its mean and
 * its spread at some x are the estimate there and its standard uncertainty, every
 * line between the bounds being taken as equally likely (JCGM 101, 6.4.2: all
 * that is known is limits).
 */

export interface Bound {
  readonly x: number;
  readonly y: number;
  /** 'above': the line runs at or above y; 'below': at or below. */
  readonly side: 'above' | 'below';
  /** How far the line may miss the bound, in units of y. */
  readonly slack: number;
}

type Corner = readonly [offset: number, slope: number];
export type Polygon = readonly Corner[];

export interface LineEstimate {
  readonly offset: number;
  readonly slope: number;
  readonly u_slope: number;
  /** Standard deviation of y over all lines that are left, at x. */
  u_at(x: number): number;
}

/** The box that bounding starts from: |slope| <= slopeMax, |offset| <= offsetMax. */
export function box(offsetMax: number, slopeMax: number): Polygon {
  return [
    [-offsetMax, -slopeMax],
    [offsetMax, -slopeMax],
    [offsetMax, slopeMax],
    [-offsetMax, slopeMax],
  ];
}

/**
 * Cuts away every line that misses the bound; empty when none is left. Most bounds cut nothing, and thousands are looked at
 * for each exchange: so corners are not taken apart, which would make two objects of each.
 */
export function cut(polygon: Polygon, { side, x, y, slack }: Bound, extraSlack = 0): Polygon {
  const sign = side === 'above' ? 1 : -1;
  const limit = sign * y - slack - extraSlack;
  let whole = 0;
  while (whole < polygon.length && excess(polygon[whole] as Corner, sign, x, limit) >= 0) whole++;
  if (whole === polygon.length) return polygon;
  const kept: Corner[] = [];
  let from = polygon[polygon.length - 1] as Corner;
  let from_excess = excess(from, sign, x, limit);
  for (const to of polygon) {
    const to_excess = excess(to, sign, x, limit);
    if (from_excess >= 0 !== to_excess >= 0) {
      const f = from_excess / (from_excess - to_excess);
      kept.push([from[0] + f * (to[0] - from[0]), from[1] + f * (to[1] - from[1])]);
    }
    if (to_excess >= 0) kept.push(to);
    from = to;
    from_excess = to_excess;
  }
  return kept;
}

const excess = (corner: Corner, sign: number, x: number, limit: number): number => sign * (corner[0] + corner[1] * x) - limit;

/** What is left of `start` after all bounds, each loosened by `extraSlack`. */
export function within(start: Polygon, bounds: readonly Bound[], extraSlack = 0): Polygon {
  let polygon = start;
  for (const bound of bounds) {
    polygon = cut(polygon, bound, extraSlack);
    if (polygon.length === 0) break;
  }
  return polygon;
}

/**
 * Mean and spread over a convex polygon, summed over its triangles from one
 * corner: a triangle's mean is that of its corners and its second moment is
 * area/12 * (sum over corners of c c' + 9 m m').
 */
export function estimate(polygon: Polygon): LineEstimate | null {
  const origin = polygon[0];
  if (origin === undefined) return null;
  let area = 0;
  let m0 = 0;
  let m1 = 0;
  let m00 = 0;
  let m01 = 0;
  let m11 = 0;
  for (let i = 1; i + 1 < polygon.length; i++) {
    const a = minus(polygon[i] as Corner, origin);
    const b = minus(polygon[i + 1] as Corner, origin);
    const part = Math.abs(a[0] * b[1] - a[1] * b[0]) / 2;
    const sum: Corner = [a[0] + b[0], a[1] + b[1]];
    area += part;
    m0 += (part * sum[0]) / 3;
    m1 += (part * sum[1]) / 3;
    m00 += (part / 12) * (a[0] * a[0] + b[0] * b[0] + sum[0] * sum[0]);
    m01 += (part / 12) * (a[0] * a[1] + b[0] * b[1] + sum[0] * sum[1]);
    m11 += (part / 12) * (a[1] * a[1] + b[1] * b[1] + sum[1] * sum[1]);
  }
  // A polygon shrunk to a point or a stroke has no area; the caller loosens its bounds.
  if (!(area > 0)) return null;
  const mean0 = m0 / area;
  const mean1 = m1 / area;
  const var0 = m00 / area - mean0 * mean0;
  const cov = m01 / area - mean0 * mean1;
  const var1 = m11 / area - mean1 * mean1;
  return {
    offset: origin[0] + mean0,
    slope: origin[1] + mean1,
    u_slope: Math.sqrt(Math.max(0, var1)),
    u_at: (x) => Math.sqrt(Math.max(0, var0 + 2 * x * cov + x * x * var1)),
  };
}

function minus(a: Corner, b: Corner): Corner {
  return [a[0] - b[0], a[1] - b[1]];
}

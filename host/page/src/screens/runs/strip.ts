/** A strip of raw rows: a band from the least to the most of each bin, the mean through it; gaps stay gaps. Pure. */

/** As GET /api/traces tells it. */
export interface TraceTold {
  readonly min: readonly (number | null)[];
  readonly mean: readonly (number | null)[];
  readonly max: readonly (number | null)[];
}

export interface StripShape {
  readonly mean: string;
  readonly band: string;
  /** Values at the lower and the upper edge. */
  readonly least: number;
  readonly most: number;
}

/** null: no row fell into the stretch. */
export function stripOf({ min, mean, max }: TraceTold, width: number, height: number): StripShape | null {
  const values = [...min, ...max].filter((v) => v !== null);
  if (values.length === 0) return null;
  const [low, high] = [Math.min(...values), Math.max(...values)];
  const room = Math.max(0.05 * (high - low), 1e-9 * Math.abs(high), 1e-12);
  const [least, most] = [low - room, high + room];
  const x = (i: number): string => (((i + 0.5) * width) / mean.length).toFixed(1);
  const y = (v: number): string => (height - ((v - least) / (most - least)) * height).toFixed(1);
  let line = '';
  let pen = false;
  const bars: string[] = [];
  for (const [i, v] of mean.entries()) {
    if (v === null) {
      pen = false;
      continue;
    }
    line += `${pen ? 'L' : 'M'}${x(i)} ${y(v)}`;
    pen = true;
    bars.push(`M${x(i)} ${y(min[i] ?? v)}V${y(max[i] ?? v)}`);
  }
  return { mean: line, band: bars.join(''), least, most };
}

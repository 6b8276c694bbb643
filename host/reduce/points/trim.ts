import type { Piece } from './pieces.js';

/** Further from the median than so many robust standard deviations, a piece at an end belongs to what was before or after. */
const SDS = 4;
/** Of the median: what a piece may be off however still the rest is. */
const SHARE_LEAST = 2e-4;
const MAD_TO_SD = 1.482602218505602;
/** Fewer show no scatter. */
const LEAST_n = 12;

/** A steady stretch without the first or last pieces that a window let pass, up to `most_s` at either end. */
export function trimmed(pieces: readonly Piece[], most_s: number): readonly Piece[] {
  if (pieces.length < LEAST_n) return pieces;
  const off = [outside(pieces.map((p) => p.speed_rpm)), outside(pieces.map((p) => p.torque_Nm))];
  const isOff = (i: number): boolean => off.some((o) => o(i));
  const span_s = (i: number, j: number): number => Math.abs((pieces[i] as Piece).t_s - (pieces[j] as Piece).t_s);
  let first = 0;
  let last = pieces.length - 1;
  while (first < last && isOff(first) && span_s(0, first) < most_s) first++;
  while (last > first && isOff(last) && span_s(pieces.length - 1, last) < most_s) last--;
  return pieces.slice(first, last + 1);
}

function outside(values: readonly number[]): (i: number) => boolean {
  const known = values.filter((v) => !Number.isNaN(v));
  if (known.length < LEAST_n) return () => false;
  const middle = medianOf(known);
  const far = SDS * Math.max(MAD_TO_SD * medianOf(known.map((v) => Math.abs(v - middle))), SHARE_LEAST * Math.abs(middle));
  return (i) => Math.abs((values[i] as number) - middle) > far;
}

function medianOf(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[sorted.length >> 1] as number;
}

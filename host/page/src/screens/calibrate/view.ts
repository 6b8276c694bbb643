import type { CalibrationLine } from '../../../../serve/told_lines.js';
import { minuteOf } from '../../lib/words.js';
/** What comes of a guided calibration, as shapes and words. Pure. */

export interface BudgetTold {
  readonly says: string;
  /** Of the variance, 0 to 1. */
  readonly share: number;
  readonly cure: string | null;
}
export interface Told {
  readonly value: number;
  readonly unit: string;
  readonly U95: number;
  readonly budget: readonly BudgetTold[];
}
/** The preview of the load cell's guide; other guides have the text alone. */
export interface Preview {
  readonly text?: readonly string[];
  readonly residuals?: readonly number[];
  readonly slope?: Told;
  readonly half_load?: Told | null;
}
export interface PointTold {
  readonly name?: string;
  readonly mass_g?: number;
  readonly count?: number;
  readonly u_count?: number;
}

export interface Bar {
  readonly says: string;
  readonly percent: number;
  /** What would make it smaller; null: nothing that is known. */
  readonly cure: string | null;
}

const BARS_MOST = 6;
/** Less is no line of its own. */
const SEEN = 0.005;

/** Largest first; the small ones together. */
export function barsOf(budget: readonly BudgetTold[]): Bar[] {
  const sorted = budget.toSorted((a, b) => b.share - a.share);
  const shown = sorted.filter((l, i) => i < BARS_MOST && l.share >= SEEN);
  const rest = sorted.filter((l) => !shown.includes(l)).reduce((s, l) => s + l.share, 0);
  const bars = shown.map(({ says, share, cure }) => ({ says, percent: 100 * share, cure }));
  return rest > 0 ? [...bars, { says: 'all else', percent: 100 * rest, cure: null }] : bars;
}

/** The one advice: what to do about the largest share, where anything is known to help. */
export function adviceOf(bars: readonly Bar[]): string | null {
  const [first] = bars;
  if (first === undefined) return null;
  const share = `${first.says} makes ${first.percent.toFixed(0)} % of the doubt`;
  return first.cure === null ? `${share}.` : `${share}: ${first.cure}.`;
}

/** `31.2 ± 0.4 mN·m` in thousandths of the unit that it is told in. */
export function toldText({ value, U95, unit }: Told): string {
  const digits = U95 > 0 ? Math.min(6, Math.max(0, 1 - Math.floor(Math.log10(1000 * U95)))) : 3;
  return `${(1000 * value).toFixed(digits)} \u00b1 ${(1000 * U95).toFixed(digits)} m${unit}`;
}

/** What a work ended with: what was found, and that it was kept. What was taken on the way stands in the list alone. */
export function endText(said: readonly { readonly kind: string; readonly text: string }[]): string {
  const last = said.at(-1);
  const before = said.at(-2);
  if (last === undefined) return 'Ended.';
  return before === undefined || before.kind === 'taken' || before.kind === 'refused' ? last.text : `${before.text} ${last.text}`;
}

export interface Residual {
  readonly name: string;
  readonly count: number;
  readonly x: number;
  readonly y: number;
}

export interface Plot {
  readonly dots: readonly Residual[];
  readonly zero: number;
  /** Counts at the upper and the lower edge. */
  readonly most: number;
  /** null: the points are drawn as they come, before there is a curve through them. */
  readonly kind: 'residuals' | 'readings';
}

/**
 * Counts measured less fitted, over the mass that hung; before there is a fit, what the count departs from the straight line
 * through the points so far, so that a wrong mass shows while it still hangs.
 */
export function plotOf(points: readonly PointTold[], preview: Preview | null, width: number, height: number): Plot | null {
  const all = points.flatMap((p) => (p.count === undefined || p.mass_g === undefined ? [] : [{ name: p.name ?? '', mass_g: p.mass_g, count: p.count }]));
  const fitted = preview?.residuals;
  const kind = fitted !== undefined && fitted.length === all.length ? 'residuals' : 'readings';
  const off = kind === 'residuals' ? (fitted ?? []) : offLine(all);
  if (off === null || all.length < 3) return null;
  const most = 1.15 * Math.max(1, ...off.map(Math.abs));
  const mass = Math.max(1e-9, ...all.map((p) => p.mass_g));
  const [left, right, edge] = [70, 20, 14];
  return {
    dots: all.map((p, i) => ({ name: p.name, count: off[i] ?? 0, x: left + (p.mass_g / mass) * (width - left - right), y: height / 2 - ((off[i] ?? 0) / most) * (height / 2 - edge) })),
    zero: height / 2,
    most,
    kind,
  };
}

/** null: one mass alone gives no line. */
function offLine(points: readonly { readonly mass_g: number; readonly count: number }[]): number[] | null {
  const n = points.length;
  const x = points.reduce((s, p) => s + p.mass_g, 0) / n;
  const y = points.reduce((s, p) => s + p.count, 0) / n;
  const sxx = points.reduce((s, p) => s + (p.mass_g - x) ** 2, 0);
  if (!(sxx > 0)) return null;
  const slope = points.reduce((s, p) => s + (p.mass_g - x) * (p.count - y), 0) / sxx;
  return points.map((p) => p.count - y - slope * (p.mass_g - x));
}


export const channelWords: Readonly<Record<string, string>> = {
  load: 'load cell', speed: 'wheel', hot: 'hot end', coolant_in: 'coolant in', coolant_out: 'coolant out', skin: 'skin', coolant_match: 'match of the coolant sensors', flow: 'coolant flow',
};

export function standingText(c: CalibrationLine): string {
  if (c.retired !== null) return `${takenBack(c.retired_remark)}${c.replaced_by === null ? '' : `; ${c.replaced_by} in its place`}`;
  if (c.in_force === 1) return 'in force';
  if (c.replaced_by !== null) return `corrected by ${c.replaced_by}`;
  return 'earlier';
}

const takenBack = (remark: string | null): string => `taken back${remark === null || remark === '' ? '' : `: ${remark}`}`;

/** Of a zero, a check mass or an entry. */
export const retiredText = ({ retired_utc_us, retired_remark }: { readonly retired_utc_us: number | null; readonly retired_remark: string | null }): string => (retired_utc_us === null ? 'stands' : takenBack(retired_remark));

/** `2026-05-03 10:20`, UTC. */
export const utcWhen = (utc_us: number): string => minuteOf(new Date(utc_us / 1000).toISOString());

/** How a check mass read, and how far from what the calibration expected. */
export function checkText({ expected, read, unit, passed }: { readonly expected: number | null; readonly read: number | null; readonly unit: string | null; readonly passed: boolean | null }): string {
  if (passed === null || expected === null || read === null) return 'there was no calibration to read it by';
  const off = 1000 * (read - expected);
  return `${passed ? 'passed' : 'FAILED'}, ${off < 0 ? '\u2212' : '+'}${Math.abs(off).toPrecision(2)} m${unit ?? ''} off`;
}

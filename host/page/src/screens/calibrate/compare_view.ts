import type { Comparison } from '../../../../store/records/compare.js';
import { minuteOf, upper } from '../../lib/words.js';

/** Two calibrations beside each other, as the rows of tables. Pure. */

const when = (iso: string): string => `${minuteOf(iso)} UTC`;

/** So many digits behind the point that the interval has two that count; without one, four that count in all. */
function digits(value: number, U: number): number {
  const of = U > 0 ? 1 - Math.floor(Math.log10(U)) : value === 0 ? 0 : 3 - Math.floor(Math.log10(Math.abs(value)));
  return Math.min(8, Math.max(0, of));
}
const signed = (x: number, n: number): string => `${Number(x.toFixed(n)) > 0 ? '+' : Number(x.toFixed(n)) < 0 ? '\u2212' : ''}${Math.abs(x).toFixed(n)}`;
const plusMinus = (value: number, U: number, unit: string): string => `${value.toFixed(digits(value, U)).replace('-', '\u2212')} \u00b1 ${U.toFixed(digits(value, U))} ${unit}`;

/** What, of the first, of the second, what changed. */
export type FactRow = readonly [what: string, a: string, b: string, change: string];

/** Made when, the number that each is known by with its 95 % interval, and how its points scatter. */
export function factRows({ made, moved, scatter }: Comparison): FactRow[] {
  const rows: FactRow[] = [['Made', when(made.a), when(made.b), '']];
  if (moved !== null) {
    const { of, unit, a, b, U95_a, U95_b, share, difference, U95 } = moved;
    const change = share === null ? `${signed(difference, digits(difference, U95))} \u00b1 ${U95.toFixed(digits(difference, U95))} ${unit}` : `${signed(100 * share, digits(100 * share, 100 * U95))} \u00b1 ${(100 * U95).toFixed(digits(100 * share, 100 * U95))} %`;
    rows.push([upper(of).replace(/,$/, ''), plusMinus(a, U95_a, unit), plusMinus(b, U95_b, unit), change]);
    if (moved.share !== null) rows.push(['Its interval (95 %), of itself', shareText(U95_a / Math.abs(a)), shareText(U95_b / Math.abs(b)), '']);
  }
  if (scatter !== null) rows.push(['Residuals: scatter of the points', `${scatter.a_count.toFixed(1)} counts`, `${scatter.b_count.toFixed(1)} counts`, scatter.a_count > 0 ? `${(scatter.b_count / scatter.a_count).toFixed(1)} times` : '']);
  return rows;
}

const shareText = (share: number): string => `${(100 * share).toPrecision(2)} %`;

/** Over the range: raw number, what each makes of it, the difference and its standard uncertainty. */
export function curveRows({ curve, unit }: Comparison): (readonly [raw: string, a: string, b: string, difference: string, u: string])[] {
  return curve.map((p) => {
    const n = digits(p.difference ?? p.a ?? 0, p.u_difference ?? 0);
    const number = (x: number | null): string => (x === null ? 'none there' : x.toFixed(n).replace('-', '\u2212'));
    return [String(Number(p.raw.toPrecision(5))), number(p.a), number(p.b), p.difference === null ? '' : `${signed(p.difference, n)} ${unit ?? ''}`, p.u_difference === null ? '' : p.u_difference.toFixed(n)];
  });
}

/** Sources of the doubt at the end of the range, the largest first; what both have in the same words, such as the scatter of each, stands in one line. */
export function budgetRows({ budget, unit }: Comparison): (readonly [says: string, u_a: string, u_b: string])[] {
  const lines = new Map<string, { u_a: number; u_b: number }>();
  for (const { says, u_a, u_b } of budget) {
    const line = lines.get(says) ?? { u_a: 0, u_b: 0 };
    lines.set(says, { u_a: Math.hypot(line.u_a, u_a), u_b: Math.hypot(line.u_b, u_b) });
  }
  const shown = (u: number): string => (u === 0 ? '\u2013' : `${u.toPrecision(2)} ${unit ?? ''}`);
  return [...lines].map(([says, { u_a, u_b }]) => [says, shown(u_a), shown(u_b)]);
}

/** Of the same kind, newest first: what one can be compared with. */
export function comparable<C extends { readonly cal_id: number; readonly channel: string }>(list: readonly C[], one: C): C[] {
  return list.filter((c) => c.channel === one.channel && c.cal_id !== one.cal_id).toSorted((a, b) => b.cal_id - a.cal_id);
}

/** The one before it is what one asks about; of the first, the next one. */
export function comparedFirst<C extends { readonly cal_id: number; readonly channel: string; readonly retired: string | null }>(list: readonly C[], one: C): C | undefined {
  const others = comparable(list, one);
  const standing = others.filter((c) => c.retired === null);
  return standing.find((c) => c.cal_id < one.cal_id) ?? others.find((c) => c.cal_id < one.cal_id) ?? others[0];
}

import { escaped } from './html.js';

export interface PlotPoint {
  readonly x: number;
  readonly y: number;
  /** Half of its interval. */
  readonly U: number;
  readonly branch: string;
  /** Beside the curve, not under it. */
  readonly left_out: boolean;
}
export interface PlotLine {
  readonly x: number;
  readonly y: number;
  readonly U: number;
}
export interface Plot {
  readonly title: string;
  readonly y_label: string;
  readonly x_label: string;
  readonly line: readonly PlotLine[];
  readonly points: readonly PlotPoint[];
  /** Peak, with both intervals. */
  readonly cross: { readonly x: number; readonly y: number; readonly U_x: number; readonly U_y: number } | null;
}

const W = 360;
const H = 125;
const EDGE = { left: 34, right: 12, top: 12, bottom: 24 } as const;

/** Solid curve between dashed limits; points by shape (down: triangle on its tip, up: on its base, else circle) with bars. No colour. */
export function plotSvg({ title, y_label, x_label, line, points, cross }: Plot): string {
  const xs = [...line, ...points].map((p) => p.x);
  const ys = [...line, ...points].flatMap((p) => [p.y - p.U, p.y + p.U]);
  if (xs.length === 0) return '';
  const xTicks = ticks(Math.min(...xs), Math.max(...xs));
  const yTicks = ticks(Math.min(0, ...ys), Math.max(...ys));
  const [x0, x1] = [xTicks[0] ?? 0, xTicks.at(-1) ?? 1];
  const [y0, y1] = [yTicks[0] ?? 0, yTicks.at(-1) ?? 1];
  const X = (x: number): number => round(EDGE.left + ((x - x0) / (x1 - x0)) * (W - EDGE.left - EDGE.right));
  const Y = (y: number): number => round(H - EDGE.bottom - ((y - y0) / (y1 - y0)) * (H - EDGE.top - EDGE.bottom));
  const path = (of: (p: PlotLine) => number): string => line.map((p, i) => `${i === 0 ? 'M' : 'L'}${X(p.x)} ${Y(of(p))}`).join('');
  const parts = [
    ...xTicks.map((t) => `<path d="M${X(t)} ${Y(y0)}V${Y(y1)}" stroke="#000" stroke-width=".2" stroke-dasharray="1 3"/><text x="${X(t)}" y="${H - 14}" text-anchor="middle">${label(t)}</text>`),
    ...yTicks.map((t) => `<path d="M${X(x0)} ${Y(t)}H${X(x1)}" stroke="#000" stroke-width=".2" stroke-dasharray="1 3"/><text x="${EDGE.left - 3}" y="${Y(t) + 3}" text-anchor="end">${label(t)}</text>`),
    `<path d="M${X(x0)} ${Y(y1)}V${Y(y0)}H${X(x1)}" fill="none" stroke="#000" stroke-width=".8"/>`,
    ...(line.length === 0 ? [] : [`<path d="${path((p) => p.y)}" fill="none" stroke="#000" stroke-width="1.1"/>`, ...[-1, 1].map((s) => `<path d="${path((p) => p.y + s * p.U)}" fill="none" stroke="#000" stroke-width=".6" stroke-dasharray="4 2"/>`)]),
    ...points.map((p) => bar(X(p.x), Y(p.y - p.U), Y(p.y + p.U)) + marker(X(p.x), Y(p.y), p)),
    ...(cross === null ? [] : [`<path d="M${X(cross.x - cross.U_x)} ${Y(cross.y)}H${X(cross.x + cross.U_x)}M${X(cross.x)} ${Y(cross.y - cross.U_y)}V${Y(cross.y + cross.U_y)}" stroke="#000" stroke-width="1.6"/>`]),
    `<text x="${EDGE.left}" y="8">${escaped(y_label)}</text><text x="${W - EDGE.right}" y="${H - 3}" text-anchor="end">${escaped(x_label)}</text>`,
  ];
  return `<svg viewBox="0 0 ${W} ${H}" role="img" aria-label="${escaped(title)}"><title>${escaped(title)}</title>${parts.join('')}</svg>`;
}

const bar = (x: number, low: number, high: number): string => `<path d="M${x} ${low}V${high}M${round(x - 2)} ${low}h4M${round(x - 2)} ${high}h4" stroke="#000" stroke-width=".7"/>`;

function marker(x: number, y: number, { branch, left_out }: PlotPoint): string {
  const style = left_out ? 'fill="#fff" stroke="#000" stroke-width=".7" stroke-dasharray="1 1"' : 'fill="#fff" stroke="#000" stroke-width=".9"';
  if (branch === 'down' || branch === 'up') {
    const s = branch === 'down' ? 1 : -1;
    return `<path d="M${round(x - 3)} ${round(y - 2.5 * s)}h6l-3 ${5 * s}z" ${style}/>`;
  }
  return `<circle cx="${x}" cy="${y}" r="2.6" ${style}/>`;
}

/** Round numbers that enclose both. */
export function ticks(low: number, high: number): number[] {
  const span = high - low || Math.abs(high) || 1;
  const rough = span / 5;
  const ten = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((m) => m * ten).find((s) => s >= rough) ?? ten;
  const first = Math.floor(low / step + 1e-9);
  const last = Math.ceil(high / step - 1e-9);
  return Array.from({ length: Math.max(2, last - first + 1) }, (_, i) => Number(((first + i) * step).toPrecision(12)));
}

const label = (v: number): string => String(Number(v.toPrecision(6)));
const round = (v: number): number => Math.round(v * 10) / 10;

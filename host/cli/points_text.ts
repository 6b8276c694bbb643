import type { Found } from '../reduce/points/find_points.js';
import type { Point } from '../reduce/points/point.js';
import type { Span } from '../reduce/span.js';
import { expanded } from '../sense/uncertainty/coverage.js';
import type { Value } from '../reduce/values/value.js';
import { timeText } from './span_asked.js';

const WIDTH = 80;

/** Value and half of its 95 % interval, with two digits of that; dashes where it is not measured. */
export function withU({ quantity }: Value, scale = 1): [value: string, U95: string] {
  if (quantity === null) return ['-', '-'];
  const U = expanded(quantity).U * scale;
  const digits = U > 0 ? Math.min(6, Math.max(0, 1 - Math.floor(Math.log10(U)))) : 3;
  return [(quantity.value * scale).toFixed(digits), U.toFixed(digits)];
}

const plain = ({ quantity }: Value, digits: number): string => (quantity === null ? '-' : quantity.value.toFixed(digits));

/** Points of one stretch and why the rest is none, in 80 columns. */
export function pointsText(span: Span, { points, rejected }: Found): string {
  const notes: string[] = [];
  const rows = points.map((p) => rowOf(span, p, notes));
  const head = ['time', 'rev/min', 'T mNm', '+-', 'P W', '+-', 'hot C', 'dT K', 'heat W', 'revs', 'way', 'ok'];
  const table = points.length === 0 ? 'no steady point was found' : aligned([head, ...rows]);
  const noted = notes.map((n, i) => wrapped(`${i + 1}) ${n}`));
  const none = rejected.map((r) => wrapped(`no point from ${timeText(span, r.tick_from)} to ${timeText(span, r.tick_to)}: ${r.reason}`));
  return [...(span.simulated ? ['SIMULATED'] : []), table, ...noted, ...none].join('\n');
}

function rowOf(span: Span, { tick_from, branch, values: v, override }: Point, notes: string[]): string[] {
  const remarks = [...v.lacks.map((l) => `lacks ${l}`), ...v.warnings, ...(override === null ? [] : [`taken by hand: ${override}`]), ...(v.torque_Nm.quantity === null && v.torque_Nm.reason !== null ? [v.torque_Nm.reason] : [])];
  const numbers = [...new Set(remarks)].map((r) => {
    if (!notes.includes(r)) notes.push(r);
    return notes.indexOf(r) + 1;
  });
  const ok = v.verified && override === null ? 'yes' : 'no';
  return [
    timeText(span, tick_from),
    plain(v.speed_rpm, 1),
    ...withU(v.torque_Nm, 1000),
    ...withU(v.power_W),
    plain(v.hot_C, 1),
    plain(v.coolant_difference_K, 2),
    plain(v.heat_W, 1),
    String(v.revolutions),
    branch,
    numbers.length === 0 ? ok : `${ok} ${numbers.join(',')}`,
  ];
}

/** Numbers under each other by their last digit, the last column as it is. */
function aligned(rows: readonly (readonly string[])[]): string {
  const widths = (rows[0] ?? []).map((_, i) => Math.max(...rows.map((row) => row[i]?.length ?? 0)));
  return rows.map((row) => row.map((cell, i) => (i === row.length - 1 ? cell : cell.padStart(widths[i] ?? 0))).join(' ')).join('\n');
}

/** In lines of 80 columns, broken between words. */
export function wrapped(text: string): string {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(' ')) {
    if (line !== '' && line.length + 1 + word.length > WIDTH) {
      lines.push(line);
      line = `   ${word}`;
    } else line = line === '' ? word : `${line} ${word}`;
  }
  return [...lines, line].join('\n');
}

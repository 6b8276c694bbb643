export interface Plotted {
  readonly x: number;
  readonly y: number;
  /** Half of its interval. */
  readonly U: number;
  /** One character. */
  readonly sign: string;
}

const COLUMNS = 60;
const ROWS = 11;

/** Points with their bars on a curve, in characters, at most 80 columns: `.` curve, `|` interval, the points' signs over both. */
export function curvePlot(title: string, line: readonly { readonly x: number; readonly y: number }[], points: readonly Plotted[]): string {
  const xs = [...line, ...points].map((p) => p.x);
  const ys = [...line.map((p) => p.y), ...points.flatMap((p) => [p.y - p.U, p.y + p.U])];
  const [left, right] = [Math.min(...xs), Math.max(...xs)];
  const [low, high] = [Math.min(0, ...ys), Math.max(...ys)];
  const cells = Array.from({ length: ROWS }, () => Array.from({ length: COLUMNS }, () => ' '));
  const columnOf = (x: number): number => (right > left ? Math.round(((x - left) / (right - left)) * (COLUMNS - 1)) : 0);
  const rowOf = (y: number): number => (high > low ? ROWS - 1 - Math.round(((y - low) / (high - low)) * (ROWS - 1)) : ROWS - 1);
  const put = (x: number, row: number, sign: string): void => {
    const cell = cells[row];
    if (cell !== undefined) cell[columnOf(x)] = sign;
  };
  for (const p of line) put(p.x, rowOf(p.y), '.');
  for (const p of points) for (let row = rowOf(p.y + p.U); row <= rowOf(p.y - p.U); row++) put(p.x, row, '|');
  for (const p of points) put(p.x, rowOf(p.y), p.sign);
  const labels = Array.from({ length: ROWS }, (_, row) => (row % 5 === 0 ? (high - ((high - low) * row) / (ROWS - 1)).toPrecision(3) : ''));
  const wide = Math.max(...labels.map((l) => l.length));
  const [from, to] = [left.toFixed(0), right.toFixed(0)];
  return [title, ...cells.map((row, i) => `${(labels[i] ?? '').padStart(wide)} |${row.join('')}`.trimEnd()), `${' '.repeat(wide + 2)}${from}${to.padStart(COLUMNS - from.length)}`].join('\n');
}

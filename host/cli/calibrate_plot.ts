import type { LoadPoint } from '../sense/load/point.js';

const COLUMNS = 60;
const ROWS_EACH_WAY = 4;

/** Residuals over load in characters, at most 80 columns: ^ reached from below, v from above, o not told, # several. */
export function residualPlot(points: readonly LoadPoint[], residuals: readonly number[]): string {
  const loads = points.map((p) => p.load);
  const [low, high] = [Math.min(...loads), Math.max(...loads)];
  const most = Math.max(...residuals.map(Math.abs));
  const cells = Array.from({ length: 2 * ROWS_EACH_WAY + 1 }, (_, row) => Array.from({ length: COLUMNS }, (): string => (row === ROWS_EACH_WAY ? '-' : ' ')));
  for (const [i, p] of points.entries()) {
    const column = high > low ? Math.round(((p.load - low) / (high - low)) * (COLUMNS - 1)) : 0;
    const row = cells[ROWS_EACH_WAY - (most > 0 ? Math.round(((residuals[i] ?? 0) / most) * ROWS_EACH_WAY) : 0)];
    if (row === undefined) continue;
    const mark = p.direction === 'up' ? '^' : p.direction === 'down' ? 'v' : 'o';
    const there = row[column] ?? ' ';
    row[column] = there === ' ' || there === '-' || there === mark ? mark : '#';
  }
  const labels = [most, 0, -most].map((v) => v.toPrecision(3));
  const wide = Math.max(...labels.map((l) => l.length));
  const label = (row: number): string => ({ 0: labels[0], [ROWS_EACH_WAY]: '0', [2 * ROWS_EACH_WAY]: labels[2] })[row] ?? '';
  const [left, right] = [low.toPrecision(4), high.toPrecision(4)];
  return [
    'Residuals in counts over load (^ up, v down, o not told, # several):',
    ...cells.map((row, i) => `${label(i).padStart(wide)} |${row.join('')}`.trimEnd()),
    `${' '.repeat(wide + 2)}${left}${right.padStart(COLUMNS - left.length)}`,
  ].join('\n');
}

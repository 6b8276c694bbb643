import { fail } from '../../errors.js';
import type { Direction, LoadPoint } from './point.js';

/** Points as text: a header `load,counts` or `load,counts,direction`, then a line for each. `#` begins a remark, blanks count for nothing. */
const headers = ['load,counts', 'load,counts,direction'];
const NUMBER = /^[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?$/;
const directions: Readonly<Record<string, Direction>> = { '': null, up: 'up', down: 'down' };

/** @param file its name, for errors. @throws POINTS_LINE, which names the line */
export function readPoints(text: string, file: string): LoadPoint[] {
  const lines = text
    .replace(/^\uFEFF/, '')
    .split(/\r\n|\n|\r/)
    .map((raw, i) => ({ number: i + 1, raw, text: raw.replace(/#.*$/, '').trim() }))
    .filter((line) => line.text !== '');
  const [header, ...rows] = lines;
  const refuse = (line: { number: number; raw: string } | undefined, why: string) =>
    fail('POINTS_LINE', { line: line?.number ?? 1, file, shown: line === undefined ? 'empty' : `"${line.raw.trim().slice(0, 60)}"`, why });
  const wanted = headers.indexOf((header?.text ?? '').toLowerCase().replace(/\s/g, ''));
  if (wanted < 0) throw refuse(header, 'the first line must be load,counts or load,counts,direction');
  const columns = wanted + 2;

  return rows.map((row) => {
    const cells = row.text.split(',').map((c) => c.trim());
    if (/;/.test(row.text) || cells.length > columns) throw refuse(row, `it has ${cells.length} values for ${columns} columns: separate them with a comma, and write decimals with a point, as in 0.5, not 0,5`);
    if (cells.length < 2) throw refuse(row, 'it must have a load and its counts, with a comma between them');
    const [load = '', counts = '', way = ''] = cells;
    for (const [name, cell] of [['load', load], ['count', counts]] as const) {
      if (!NUMBER.test(cell) || !Number.isFinite(Number(cell))) throw refuse(row, `its ${name} ${cell === '' ? 'is missing' : `"${cell}" is no number`}`);
    }
    const direction = directions[way.toLowerCase()];
    if (direction === undefined) throw refuse(row, `its direction "${way}" must be up, down or nothing${/\d/.test(way) ? '; decimals are written with a point, as in 0.5' : ''}`);
    return { load: Number(load), count: Number(counts), direction };
  });
}

import { get, WORK_ms } from '../../lib/api.js';
import { button, h, put } from '../../lib/dom.js';
import { table } from '../../lib/table.js';
import { unitFor } from '../../lib/units.js';
import { state } from '../../state.js';
import { tracesInto } from './traces.js';
import { cell, columnTitles, isPoint, pointCells, pointColumns, shareCell } from './view.js';
import type { Cell, PointsLine, ValueTold } from './view.js';

/** Cells with a letter for each reason, and the reasons once, below: they are the same in most rows. */
function remarked(): { readonly cell: (cell: Cell) => Node; readonly below: () => Node } {
  const reasons: string[] = [];
  return {
    cell: ({ text, why }) => {
      if (why === null) return h('span', {}, text);
      if (!reasons.includes(why)) reasons.push(why);
      return h('span', { title: why }, `${text} `, h('sup', {}, String.fromCharCode(97 + reasons.indexOf(why))));
    },
    below: () => h('ul', { class: 'remarks' }, ...reasons.map((reason, i) => h('li', {}, h('sup', {}, String.fromCharCode(97 + i)), ` ${reason}`))),
  };
}

/** The steady points of a run. */
export async function pointsInto(place: HTMLElement, run_id: number): Promise<void> {
  const says = h('p', { role: 'status' }, 'Finding the steady points\u2026');
  place.replaceChildren(says);
  const answer = await get<{ lines: readonly PointsLine[] }>(`/api/ask/points?run=${run_id}`, WORK_ms);
  if (!answer.ok) {
    put(says, `No points: ${answer.message}`);
    return;
  }
  const { units } = state();
  const points = answer.value.lines.filter(isPoint);
  const rejected = answer.value.lines.filter((l) => !isPoint(l)).length;
  put(says, `${points.length === 0 ? 'No steady point.' : ''} ${rejected === 0 ? '' : `${rejected} stretches with a turning shaft were not steady for long enough and are no points.`}`.trim());
  if (points.length === 0) return;
  const remarks = remarked();
  const raw = h('div');
  place.append(table('Steady points, each with its 95 % interval', ['Raw rows', ...pointColumns.map((c) => `${columnTitles[c]}, ${unitFor(c, units).name}`), 'Lasted', 'How'], points.map((p, i) => {
    const { how, lasted, cells } = pointCells(p, units);
    return [button(`${i + 1} trace`, () => void tracesInto(raw, i + 1, p), { 'aria-label': `${i + 1} trace: raw rows of point ${i + 1}` }), ...cells.map(remarks.cell), lasted, how];
  })), remarks.below(), raw);
}

type HeatLine = { readonly n: number; readonly source: string | null; readonly faults: readonly unknown[] } & Readonly<Record<string, unknown>>;

const heats = [['heat_in_W', 'Heat in'], ['power_W', 'Shaft power'], ['coolant_heat_W', 'To coolant'], ['unaccounted_W', 'Unaccounted']] as const;
const shares = [['unaccounted_share', 'Unaccounted'], ['efficiency_least', 'Efficiency at least'], ['efficiency_most', 'Efficiency at most'], ['carnot_share', 'Of Carnot']] as const;

/** What goes in as heat and where it leaves, point by point. */
export async function heatInto(place: HTMLElement, run_id: number): Promise<void> {
  const says = h('p', { role: 'status' }, 'Working out the heat balance\u2026');
  place.replaceChildren(says);
  const answer = await get<{ lines: readonly HeatLine[] }>(`/api/ask/heat?run=${run_id}`, WORK_ms);
  if (!answer.ok) {
    put(says, `No heat balance: ${answer.message}`);
    return;
  }
  const { units } = state();
  const { lines } = answer.value;
  put(says, lines.length === 0 ? 'No steady point, so no heat balance.' : '');
  if (lines.length === 0) return;
  const remarks = remarked();
  place.append(table('Heat balance of each point', ['Point', ...heats.map(([name, title]) => `${title}, ${unitFor(name, units).name}`), ...shares.map(([, title]) => title)], lines.map((line) => [
    String(line.n),
    ...heats.map(([name]) => remarks.cell(cell(name, line[name] as ValueTold | undefined, units))),
    ...shares.map(([name]) => remarks.cell(shareCell(line[name] as ValueTold | undefined))),
  ])), remarks.below());
}

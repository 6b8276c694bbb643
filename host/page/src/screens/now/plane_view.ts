import { attributes, h, put, s } from '../../lib/dom.js';
import { get } from '../../lib/api.js';
import { unitOf } from '../../lib/units.js';
import type { PageState } from '../../page_state.js';
import { MARGIN, planeOf } from './plane.js';
import type { At, BandAt } from './plane.js';

const TRAIL_s = 60;

interface CurveAnswer {
  readonly points?: readonly { readonly speed_rpm: { readonly value: number }; readonly torque_Nm: { readonly value: number; readonly U95: number } }[];
  readonly band?: readonly { readonly speed_rpm: number; readonly torque_Nm: { readonly value: number; readonly U95: number } }[];
}

/** The live dot, where it came from, and the last curve that was kept. */
export function makePlane(): { readonly node: HTMLElement; readonly draw: (state: PageState) => void } {
  const svg = s('svg', { role: 'img', 'aria-label': 'Torque over speed: live point, its last minute, and the last curve' });
  const grid = s('g', { class: 'grid' });
  const band = s('path', { class: 'band' });
  const curve = s('path', { class: 'curve' });
  const bars = s('g', { class: 'bars' });
  const trail = s('path', { class: 'trail' });
  const dot = s('circle', { class: 'dot', r: 7 });
  svg.append(grid, band, curve, bars, trail, dot);
  const says = h('figcaption', {}, '');
  const node = h('figure', { class: 'plane' }, svg, says);
  let kept: { readonly band: readonly BandAt[]; readonly points: readonly BandAt[] } = { band: [], points: [] };
  let ofRun = 'no curve of this bench is kept yet';

  void lastCurve().then((found) => {
    if (found === null) return;
    kept = found;
    ofRun = `curve of ${found.name}`;
  });

  return {
    node,
    draw: (state) => {
      const { width, height } = svg.getBoundingClientRect();
      if (width < 50 || height < 50) return;
      const unit = unitOf('torque', state.units);
      const { torque_Nm, speed_rpm } = state.values ?? { torque_Nm: null, speed_rpm: null };
      const live = atOf(torque_Nm?.value, speed_rpm?.value);
      const from_s = (state.strip.at(-1)?.t_s ?? 0) - TRAIL_s;
      const path = state.strip.flatMap(({ t_s, values: [torque, speed] }) => (t_s < from_s ? [] : (atOf(torque, speed) ?? [])));
      const plane = planeOf({ live, trail: path, ...kept }, width, height, unit.factor);
      attributes(svg, { viewBox: `0 0 ${width} ${height}` });
      grid.replaceChildren(
        ...plane.x.flatMap(({ at, value }) => [s('line', { x1: at, x2: at, y1: MARGIN.top, y2: height - MARGIN.bottom }), s('text', { x: at, y: height - 18, 'text-anchor': 'middle' }, String(value))]),
        ...plane.y.flatMap(({ at, value }) => [s('line', { x1: MARGIN.left, x2: width - MARGIN.right, y1: at, y2: at }), s('text', { x: MARGIN.left - 6, y: at + 4, 'text-anchor': 'end' }, String(value))]),
        s('text', { x: width - MARGIN.right, y: height - 3, 'text-anchor': 'end' }, 'rev/min'),
        s('text', { x: MARGIN.left + 4, y: 20 }, unit.name),
      );
      attributes(band, { d: plane.band });
      attributes(curve, { d: plane.curve });
      attributes(trail, { d: plane.trail });
      bars.replaceChildren(...plane.points.map((p) => s('path', { d: `M${p.x} ${p.top}V${p.bottom}M${p.x - 3} ${p.y}h6` })));
      if (plane.live === null) attributes(dot, { visibility: 'hidden' });
      else attributes(dot, { visibility: null, cx: plane.live.x, cy: plane.live.y });
      put(says, `Torque over speed: ${live === null ? 'no live point' : 'live point with its last minute'}; ${ofRun}.`);
    },
  };
}

const atOf = (torque_Nm: number | null | undefined, speed_rpm: number | null | undefined): At | null => (typeof torque_Nm === 'number' && typeof speed_rpm === 'number' ? { speed_rpm, torque_Nm } : null);

/** Of the newest run that has one. */
async function lastCurve(): Promise<{ name: string; band: BandAt[]; points: BandAt[] } | null> {
  const runs = await get<{ runs: readonly { run_id: number; name: string; archived?: number | boolean }[] }>('/api/runs');
  if (!runs.ok) return null;
  const newest = runs.value.runs.filter((r) => r.archived !== true && r.archived !== 1).toSorted((a, b) => b.run_id - a.run_id)[0];
  if (newest === undefined) return null;
  const answer = await get<CurveAnswer>(`/api/ask/curve?run=${newest.run_id}`);
  if (!answer.ok) return null;
  const { band = [], points = [] } = answer.value;
  if (points.length === 0) return null;
  return {
    name: newest.name,
    band: band.map((b) => ({ speed_rpm: b.speed_rpm, torque_Nm: b.torque_Nm.value, U95_Nm: b.torque_Nm.U95 })),
    points: points.map((p) => ({ speed_rpm: p.speed_rpm.value, torque_Nm: p.torque_Nm.value, U95_Nm: p.torque_Nm.U95 })),
  };
}

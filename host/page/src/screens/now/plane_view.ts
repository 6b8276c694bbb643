import { attributes, h, put, s } from '../../lib/dom.js';
import { get } from '../../lib/api.js';
import { unitOf } from '../../lib/units.js';
import type { LivePoint } from '../../../../serve/steady_desk.js';
import type { PageState } from '../../page_state.js';
import { change, onChannel, onOpened } from '../../state.js';
import { lastCurveReader } from './last_curve.js';
import type { KeptCurve } from './last_curve.js';
import { MARGIN, planeOf } from './plane.js';
import type { At } from './plane.js';
import { placeOf, pointWords, withPoint } from './points.js';

const TRAIL_s = 60;
/** More points than a sweep has would hide it. */
const FRESH_MOST = 20;

/** The live dot, where it came from, the points as they come about, and the last good curve of the build in use. */
export function makePlane(): { readonly node: HTMLElement; readonly draw: (state: PageState) => void; readonly leave: () => void } {
  const svg = s('svg', { role: 'img', 'aria-label': 'Torque over speed: live point, its last minute, and the last curve' });
  const grid = s('g', { class: 'grid' });
  const band = s('path', { class: 'band' });
  const curve = s('path', { class: 'curve' });
  const bars = s('g', { class: 'bars' });
  const trail = s('path', { class: 'trail' });
  const dot = s('circle', { class: 'dot', r: 7 });
  const newest = s('g', { class: 'fresh' });
  svg.append(grid, band, curve, bars, newest, trail, dot);
  const says = h('figcaption', {}, '');
  const word = h('p', { class: 'newest', role: 'status' });
  const node = h('figure', { class: 'plane' }, word, svg, says);
  let kept: KeptCurve | null = null;
  let points: readonly LivePoint[] = [];
  let told: LivePoint | null = null;

  const last = lastCurveReader();
  let reading = false;
  let again = false;
  /** One at a time; what changes meanwhile is read once more afterwards. */
  const readCurve = async (): Promise<void> => {
    again = reading;
    if (reading) return;
    reading = true;
    kept = await last.read();
    reading = false;
    if (again) void readCurve();
    change({});
  };
  const readAnew = (): void => {
    last.forget();
    void readCurve();
  };
  const readPoints = async (): Promise<void> => {
    const answer = await get<{ points: readonly LivePoint[] }>('/api/points');
    if (!answer.ok) return;
    points = answer.value.points;
    told = points.at(-1) ?? null;
    change({});
  };
  const ends = [
    onChannel('point', (value) => {
      told = value as LivePoint;
      points = withPoint(points, told);
      change({});
      // A run that is kept may have had it.
      if (told.retired) readAnew();
    }),
    onChannel('kept', (value) => {
      const { route } = value as { route: string };
      if (['runs', 'builds'].includes(route)) void readCurve();
      else if (['calibrations', 'zeros', 'entered', 'sheet'].includes(route)) readAnew();
    }),
    onOpened(() => {
      void readPoints();
      void readCurve();
    }),
  ];
  void readPoints();
  void readCurve();

  return {
    node,
    draw: (state) => {
      put(word, told === null ? '' : pointWords(told, state.units));
      const { width, height } = svg.getBoundingClientRect();
      if (width < 50 || height < 50) return;
      const unit = unitOf('torque', state.units);
      const { torque_Nm, speed_rpm } = state.values ?? { torque_Nm: null, speed_rpm: null };
      const live = atOf(torque_Nm?.value, speed_rpm?.value);
      const from_s = (state.strip.at(-1)?.t_s ?? 0) - TRAIL_s;
      const path = state.strip.flatMap(({ t_s, values: [torque, speed] }) => (t_s < from_s ? [] : (atOf(torque, speed) ?? [])));
      const fresh = points.flatMap((p) => placeOf(p) ?? []).slice(-FRESH_MOST);
      const plane = planeOf({ live, trail: path, band: kept?.band ?? [], points: kept?.points ?? [], fresh }, width, height, unit.factor);
      attributes(svg, { viewBox: `0 0 ${width} ${height}` });
      grid.replaceChildren(
        ...plane.x.flatMap(({ at, value }) => [s('line', { x1: at, x2: at, y1: MARGIN.top, y2: height - MARGIN.bottom }), s('text', { x: at, y: height - 18, 'text-anchor': 'middle' }, String(value))]),
        ...plane.y.flatMap(({ at, value }) => [s('line', { x1: MARGIN.left, x2: width - MARGIN.right, y1: at, y2: at }), s('text', { x: MARGIN.left - 6, y: at + 4, 'text-anchor': 'end' }, String(value))]),
        s('text', { x: width - MARGIN.right, y: height - 3, 'text-anchor': 'end' }, 'rev/min'),
        s('text', { x: MARGIN.left + 4, y: MARGIN.top - 7 }, unit.name),
      );
      attributes(band, { d: plane.band });
      attributes(curve, { d: plane.curve });
      attributes(trail, { d: plane.trail });
      bars.replaceChildren(...plane.points.map((p) => s('path', { d: `M${p.x} ${p.top}V${p.bottom}M${p.x - 3} ${p.y}h6` })));
      newest.replaceChildren(...plane.fresh.flatMap((p) => [
        s('path', { d: `M${p.x} ${p.top}V${p.bottom}M${p.x - 5} ${p.y - 5}h10v10h-10z`, class: p.newest ? 'last' : null }),
        ...(p.newest ? [s('text', { x: p.x + 10, y: p.y - 8 }, String(p.number))] : []),
      ]));
      if (plane.live === null) attributes(dot, { visibility: 'hidden' });
      else attributes(dot, { visibility: null, cx: plane.live.x, cy: plane.live.y });
      put(says, `Torque over speed: ${live === null ? 'no live point' : 'live point with its last minute'}; ${fresh.length === 0 ? '' : `${fresh.length === 1 ? 'the newest point' : `the newest ${fresh.length} points`} as squares; `}${kept?.says ?? 'no curve of this build is kept yet'}.`);
    },
    leave: () => {
      for (const end of ends) end();
    },
  };
}

const atOf = (torque_Nm: number | null | undefined, speed_rpm: number | null | undefined): At | null => (typeof torque_Nm === 'number' && typeof speed_rpm === 'number' ? { speed_rpm, torque_Nm } : null);

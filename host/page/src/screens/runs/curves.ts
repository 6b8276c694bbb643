import { get, WORK_ms } from '../../lib/api.js';
import { attributes, h, put, s } from '../../lib/dom.js';
import { across } from '../../lib/drawing.js';
import { unitOf } from '../../lib/units.js';
import { state } from '../../state.js';
import { overlayOf } from './overlay.js';
import type { Box, CurveTold } from './overlay.js';

interface Named {
  readonly run_id: number;
  readonly name: string;
}

const BOX = { left: 62, right: 16, top: 16, bottom: 44 } as const;
const boxNow = (): Box => {
  const width = across(720);
  return { ...BOX, width, height: Math.max(280, (width * 5) / 9) };
};
/** Told apart by dashes and a letter, not by colour. */
const DASHES = ['none', '9 5', '3 4', '12 4 3 4', '2 7', '16 6'] as const;

/** Curves of runs over each other; each is worked out when it is first shown. */
export function makeCurves(): { readonly node: HTMLElement; readonly show: (runs: readonly Named[]) => Promise<void> } {
  const svg = s('svg', { role: 'img', 'aria-label': 'Torque over speed of the runs that are shown, with 95 % intervals' });
  const says = h('p', { role: 'status' });
  const legend = h('ul', { class: 'legend' });
  const node = h('figure', { class: 'overlay', hidden: true }, svg, legend, h('figcaption', {}, says));
  const kept = new Map<number, CurveTold>();
  let asked = 0;

  const show = async (runs: readonly Named[]): Promise<void> => {
    const mine = ++asked;
    node.hidden = runs.length === 0;
    const refused: string[] = [];
    for (const { run_id, name } of runs) {
      if (kept.has(run_id)) continue;
      put(says, `Working out the curve of ${name}\u2026`);
      const answer = await get<CurveTold>(`/api/ask/curve?run=${run_id}`, WORK_ms);
      if (mine !== asked) return;
      if (answer.ok) kept.set(run_id, answer.value);
      else refused.push(`${name}: ${answer.message}`);
    }
    const found = runs.flatMap((r) => { const curve = kept.get(r.run_id); return curve === undefined ? [] : [{ ...r, curve }]; });
    const unit = unitOf('torque', state().units);
    const box = boxNow();
    attributes(svg, { viewBox: `0 0 ${box.width} ${box.height}` });
    const drawn = overlayOf(found.map((f) => f.curve), box, unit.factor);
    svg.replaceChildren(
      s('g', { class: 'grid' },
        ...drawn.x.flatMap(({ at, value }) => [s('line', { x1: at, x2: at, y1: box.top, y2: box.height - box.bottom }), s('text', { x: at, y: box.height - 26, 'text-anchor': 'middle' }, String(value))]),
        ...drawn.y.flatMap(({ at, value }) => [s('line', { x1: box.left, x2: box.width - box.right, y1: at, y2: at }), s('text', { x: box.left - 6, y: at + 5, 'text-anchor': 'end' }, String(value))]),
        s('text', { x: box.width - box.right, y: box.height - 6, 'text-anchor': 'end' }, 'rev/min'),
        s('text', { x: box.left + 5, y: box.top + 14 }, unit.name)),
      ...drawn.curves.flatMap((c, i) => [
        s('path', { class: 'band', d: c.band }),
        dashed(c.line, i),
        ...c.bars.map((d) => s('path', { class: 'bar', d })),
        ...(c.label === null ? [] : [s('text', { class: 'letter', x: c.label.x, y: c.label.y, 'text-anchor': 'middle' }, letter(i))]),
      ]),
    );
    legend.replaceChildren(...found.map((f, i) => h('li', {}, s('svg', { class: 'sample', viewBox: '0 0 40 8', 'aria-hidden': 'true' }, dashed('M0 4H40', i)), ` ${letter(i)}: ${f.name}, ${f.curve.points.length} points${f.curve.band.length === 0 ? ', no curve through them' : ''}`)));
    put(says, refused.length > 0 ? `Not drawn: ${refused.join('; ')}` : 'Crosses: points with their 95 % intervals. Shaded: the 95 % band of the curve.');
  };
  return { node, show };
}

const letter = (i: number): string => String.fromCharCode(65 + i);

const dashed = (d: string, i: number): SVGPathElement => s('path', { class: 'curve', d, 'stroke-dasharray': DASHES[i % DASHES.length] ?? 'none' });

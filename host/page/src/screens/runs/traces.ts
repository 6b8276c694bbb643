import { get } from '../../lib/api.js';
import { h, put, s } from '../../lib/dom.js';
import { across } from '../../lib/drawing.js';
import { lasting } from '../../lib/words.js';
import { stripOf } from './strip.js';
import type { TraceTold } from './strip.js';
import type { PointAnswer } from './view.js';

interface Told {
  readonly force_count: TraceTold;
  readonly speed_rpm: TraceTold;
  readonly shown_s: number;
  readonly asked_s: number;
}

const WIDTH = 720;
const HEIGHT = 130;
const LEFT = 90;

/** The raw rows that a point rests on. */
export async function tracesInto(place: HTMLElement, n: number, { tick_from, tick_to, values }: PointAnswer): Promise<void> {
  const says = h('p', { role: 'status' }, 'Reading the raw rows\u2026');
  place.replaceChildren(says);
  const answer = await get<Told>(`/api/traces?boot=${values.boot_id}&from=${Math.round(tick_from)}&to=${Math.round(tick_to)}`);
  if (!answer.ok) {
    put(says, `No raw rows: ${answer.message}`);
    return;
  }
  const { force_count, speed_rpm, shown_s, asked_s } = answer.value;
  put(says, `Raw rows of point ${n}: ${shown_s < asked_s - 1 ? `the first ${lasting(shown_s)} of ${lasting(asked_s)}` : lasting(shown_s)}. Shaded: from the least to the most; line: mean.`);
  place.append(strip('Load cell, counts', force_count, 0), strip('Speed over each turn, rev/min', speed_rpm, 1));
  place.scrollIntoView({ block: 'nearest' });
}

function strip(title: string, trace: TraceTold, digits: number): HTMLElement {
  const width = across(WIDTH);
  const shape = stripOf(trace, width - LEFT, HEIGHT);
  if (shape === null) return h('p', {}, `${title}: nothing was recorded here.`);
  const { mean, band, least, most } = shape;
  const svg = s(
    'svg', { viewBox: `0 0 ${width} ${HEIGHT}`, role: 'img', 'aria-label': `${title}, from ${least.toFixed(digits)} to ${most.toFixed(digits)}` },
    s('text', { x: LEFT - 8, y: 14, 'text-anchor': 'end' }, most.toFixed(digits)), s('text', { x: LEFT - 8, y: HEIGHT - 4, 'text-anchor': 'end' }, least.toFixed(digits)),
    s('g', { transform: `translate(${LEFT} 0)` }, s('path', { class: 'least-most', d: band }), s('path', { class: 'mean', d: mean })),
  );
  return h('figure', { class: 'picture raw' }, svg, h('figcaption', {}, title));
}

import type { GuideState } from '../../../../serve/guide_desk.js';
import { get, post } from '../../lib/api.js';
import type { Answer } from '../../lib/answer.js';
import { every } from '../../lib/clock.js';
import { attributes, button, h, on, put, s, shown } from '../../lib/dom.js';
import { across } from '../../lib/drawing.js';
import { onChannel } from '../../state.js';
import { adviceOf, barsOf, endText, plotOf, toldText } from './view.js';
import type { Plot, PointTold, Preview } from './view.js';

interface Told {
  readonly guide: GuideState;
}
type Going = NonNullable<GuideState>;

export const acts = [
  { act: 'load', says: 'load cell' },
  { act: 'zero', says: 'zero' },
  { act: 'check', says: 'check mass' },
  { act: 'match', says: 'match the coolant sensors' },
  { act: 'flow', says: 'coolant flow by stopwatch' },
  { act: 'wheel', says: 'learn the wheel' },
] as const;
export type ActName = (typeof acts)[number]['act'];
export const isAct = (word: string): word is ActName => acts.some((a) => a.act === word);

const titles: Readonly<Record<string, string>> = { load: 'Calibration of the load cell', zero: 'Zero', check: 'Check mass', match: 'Match of the coolant sensors', flow: 'Coolant flow', wheel: 'The wheel' };
const LOOK_ms = 500;
const WIDTH = 640;
const HEIGHT = 240;

/**
 * One guided work at the width of the screen: what to do now, what is read, what was taken, and what comes of it.
 * @param turned told when one has begun or ended
 */
export function makeGuide(turned: (going: boolean) => void): { readonly node: HTMLElement; readonly begin: (act: ActName) => Promise<void>; readonly look: () => Promise<void>; readonly going: () => boolean; readonly key: (key: string) => boolean; readonly leave: () => void } {
  const title = h('h2');
  const says = h('p', { class: 'todo', role: 'status' });
  const live = h('p', { class: 'reading' });
  const field = h('input', { type: 'text', maxlength: 200, 'aria-label': 'Answer' });
  const form = h('form', { class: 'answer', hidden: true }, field, h('button', { type: 'submit' }, 'Answer'));
  const words = h('div', { class: 'acts', role: 'group', 'aria-label': 'What may be said' });
  const refused = h('p', { class: 'warned', role: 'status', hidden: true });
  const log = h('ol', { class: 'told', tabindex: 0, 'aria-label': 'What was taken and told' });
  const plot = h('figure', { class: 'picture', hidden: true });
  const result = h('section', { 'aria-label': 'What comes of it', hidden: true });
  const node = h('section', { class: 'guided', 'aria-label': 'What is going on', hidden: true }, title, says, live, form, words, refused, result, plot, log);
  let id = 0;
  let step = 0;
  /** The step whose words the field stands ready for. */
  let asked = 0;
  let drawn = '';
  let over = true;
  let said: readonly string[] = [];

  const answer = async (word: string): Promise<void> => take(await post<Told>('/api/guide/answer', { step, word }));
  const take = (got: Answer<Told>): void => {
    shown(refused, !got.ok);
    if (got.ok) {
      draw(got.value.guide);
      return;
    }
    put(refused, got.message);
    // What was written stands there still, to be put right.
    if (!form.hidden) field.focus();
  };
  const draw = (guide: GuideState): void => {
    shown(node, guide !== null);
    if (guide === null) return;
    // What was on its way when an answer was given may come after it.
    if (guide.id < id || (guide.id === id && guide.step < step)) return;
    ({ id, step } = guide);
    put(title, `${titles[guide.act] ?? guide.act}${guide.simulated ? ' (simulated)' : ''}`);
    put(says, guide.ended === null ? guide.prompt.says : endText(guide.said));
    put(live, guide.live === null ? '' : `${guide.live.reading ?? 'no reading'}${guide.live.settled ? ': settled' : ''}${guide.live.why_not === null ? '' : `: ${guide.live.why_not}`}`);
    const key = JSON.stringify([guide.id, guide.step, guide.ended, guide.prompt, guide.said.length, guide.points.length, guide.preview]);
    if (key === drawn) return;
    drawn = key;
    const ends = guide.ended !== null;
    const turns = ends !== over;
    over = ends;
    if (turns) turned(!over);
    drawWords(guide);
    log.replaceChildren(...guide.said.toReversed().map((t) => h('li', { 'data-kind': t.kind }, `${{ told: '', taken: '', warning: 'warning: ', refused: 'refused: ' }[t.kind]}${t.text}`)));
    const preview = guide.preview as Preview | null;
    const width = across(WIDTH);
    drawPlot(plotOf(guide.points as readonly PointTold[], preview, width, HEIGHT), width);
    drawResult(preview);
  };
  const drawWords = ({ ended: end, prompt }: Going): void => {
    const asksText = end === null && prompt.asks === 'text';
    shown(form, asksText);
    field.placeholder = prompt.example === null ? '' : `such as ${prompt.example}`;
    const list = end === null ? prompt.words : [];
    said = list.map((w) => w.word);
    words.replaceChildren(...list.map(({ word, says: meaning }, i) => {
      const b = button('', () => void answer(word));
      b.append(h('kbd', {}, String(i + 1)), ' ', h('span', {}, h('strong', {}, word === '' ? 'Enter' : word), ` ${meaning}`));
      return b;
    }));
    // Whoever writes already goes on writing, whatever else is told meanwhile.
    if (!asksText || asked === step) return;
    asked = step;
    field.value = '';
    field.focus();
  };
  const drawPlot = (p: Plot | null, width: number): void => {
    shown(plot, p !== null);
    if (p === null) return;
    const svg = s('svg', { viewBox: `0 0 ${width} ${HEIGHT}`, role: 'img', 'aria-label': `${p.kind === 'residuals' ? 'Residuals' : 'Departure from a straight line'}: ${p.dots.map((d) => `${d.name} ${d.count.toFixed(1)}`).join(', ')} counts` });
    svg.append(
      s('path', { class: 'zero', d: `M60 ${p.zero}H${width - 10}` }),
      s('text', { x: 52, y: 20, 'text-anchor': 'end' }, `+${p.most.toFixed(0)}`), s('text', { x: 52, y: p.zero + 5, 'text-anchor': 'end' }, '0'), s('text', { x: 52, y: HEIGHT - 8, 'text-anchor': 'end' }, `\u2212${p.most.toFixed(0)}`),
      // Up and down are told apart by the way in which the mark points.
      ...p.dots.map((d) => s('path', { class: 'found', d: d.name.endsWith('down') ? `M${d.x - 7} ${d.y - 5}h14l-7 12z` : d.name.endsWith('up') ? `M${d.x - 7} ${d.y + 5}h14l-7 -12z` : `M${d.x - 6} ${d.y - 6}h12v12h-12z` }, s('title', {}, `${d.name}: ${d.count.toFixed(1)} counts`))),
    );
    plot.replaceChildren(svg, h('figcaption', {}, `${p.kind === 'residuals' ? 'Residuals: counts measured less fitted' : 'So far: what the counts depart from a straight line through them'}, over the mass that hung. \u25b2 going up, \u25bc going down, \u25a0 zero or held.`));
  };
  const drawResult = (preview: Preview | null): void => {
    const told = preview === null ? null : (preview.half_load ?? preview.slope ?? null);
    const bars = told === null ? [] : barsOf(told.budget);
    const advice = adviceOf(bars);
    const text = preview?.text ?? [];
    shown(result, preview !== null);
    result.replaceChildren(
      ...(told === null ? [] : [h('h3', {}, told !== preview?.half_load ? 'The slope: what its doubt is made of' : `A reading of ${toldText(told)} (95 %) now: what its doubt is made of`), makeBars(bars)]),
      ...(advice === null ? [] : [h('p', { class: 'advised' }, advice)]),
      ...(text.length === 0 ? [] : [h('details', { open: told === null }, h('summary', {}, 'All that was found'), h('pre', { tabindex: 0, role: 'region', 'aria-label': 'All that was found' }, text.join('\n')))]),
    );
  };
  on(form, 'submit', (event) => {
    event.preventDefault();
    void answer(field.value);
  });
  const look = async (): Promise<void> => {
    const got = await get<Told>('/api/guide');
    if (got.ok) draw(got.value.guide);
  };
  const stop = every(LOOK_ms, () => {
    if (!over) void look();
  });
  const unhear = onChannel('guide', (value) => draw(value as GuideState));
  return {
    node,
    begin: async (act) => {
      [id, step, asked] = [0, 0, 0];
      take(await post<Told>('/api/guide/begin', { act, answers: {} }));
      shown(node, true);
      node.scrollIntoView({ block: 'nearest' });
    },
    look,
    going: () => !over,
    key: (key) => {
      if (over) return false;
      const word = said[Number(key) - 1];
      if (/^\d$/.test(key) && word !== undefined) void answer(word);
      else if (key === 'Enter' && (said.includes('') || said.includes('take'))) void answer(said.includes('') ? '' : 'take');
      else return false;
      return true;
    },
    leave: () => {
      stop();
      unhear();
    },
  };
}

/** Shares of the doubt, each as long as it is large, with what would make it smaller. */
function makeBars(bars: ReturnType<typeof barsOf>): HTMLElement {
  return h('ul', { class: 'bars' }, ...bars.map((b) => {
    const svg = s('svg', { viewBox: '0 0 100 4', preserveAspectRatio: 'none', 'aria-hidden': 'true' });
    const bar = s('rect', { height: 4 });
    attributes(bar, { width: Math.max(0.5, b.percent) });
    svg.append(bar);
    return h('li', {}, h('span', { class: 'percent' }, `${b.percent.toFixed(0)} %`), h('span', {}, b.says, b.cure === null ? null : h('span', { class: 'why' }, ` ${b.cure}`)), svg);
  }));
}

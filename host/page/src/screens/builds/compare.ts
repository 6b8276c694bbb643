import { get, post, WORK_ms } from '../../lib/api.js';
import { button, h, put, s } from '../../lib/dom.js';
import { across } from '../../lib/drawing.js';
import { chooser, textField } from '../../lib/fields.js';
import { table } from '../../lib/table.js';
import { earlyText, intervalOf, intervalText, percentText } from './interval.js';
import type { Early, Judged, RunTold } from './interval.js';
import type { BuildRow } from '../../../../store/ledger/builds.js';

interface Report {
  readonly a: string;
  readonly b: string;
  readonly verdict: (Judged | Early) & { readonly n: readonly [number, number] };
  readonly runs: { readonly a: readonly RunTold[]; readonly b: readonly RunTold[] };
  readonly measure: string;
  readonly says: string;
  readonly look: { readonly look: number; readonly extra: number };
  readonly warnings: readonly string[];
  readonly left_out: readonly { readonly name: string; readonly build: string; readonly why: string }[];
}
interface PlanTold {
  readonly a: string;
  readonly b: string;
  readonly done: readonly ('A' | 'B')[];
  readonly next: readonly ('A' | 'B')[];
}
interface ChangeTold {
  readonly part: string;
  readonly from: string;
  readonly to: string;
}
interface EffectsTold {
  readonly effects: readonly { readonly changes: readonly ChangeTold[]; readonly share: number; readonly interval95: readonly [number, number]; readonly runs: number }[];
  readonly entangled: readonly (readonly ChangeTold[])[];
  readonly add_up: boolean | null;
  readonly why: string | null;
}

const measures = [
  { value: 'peak_power_W', says: 'peak power' },
  { value: 'peak_torque_Nm', says: 'peak torque' },
  { value: 'free_speed_rpm', says: 'free speed' },
] as const;

/** Verdict between two builds, the order of the next runs, and what moved the measure most over the whole ledger. */
export function makeCompare(builds: readonly BuildRow[]): HTMLElement {
  const options = builds.filter((b) => b.archived === 0).map((b) => ({ value: b.name, says: `${b.name} (${b.runs === 1 ? '1 run' : `${b.runs} runs`})` }));
  const [before, last] = [options.at(-2)?.value ?? '', options.at(-1)?.value ?? ''];
  const a = chooser('A, what is compared to', options, before);
  const b = chooser('B, what is judged', options, last);
  const measure = chooser('By', measures);
  const margin = textField('The same within, %', { value: '5', inputmode: 'decimal', maxlength: 5 });
  const runs = textField('Runs a side in all, for the order', { value: '3', inputmode: 'numeric', maxlength: 2 });
  const said = h('p', { role: 'status' });
  const place = h('div');

  const asked = async <T>(what: string, question: () => ReturnType<typeof get<T>>, show: (value: T) => readonly (Node | null)[]): Promise<void> => {
    put(said, `${what}\u2026`);
    const answer = await question();
    put(said, answer.ok ? '' : answer.message);
    if (!answer.ok) return;
    place.replaceChildren(...show(answer.value).filter((n) => n !== null));
    place.scrollIntoView({ block: 'nearest' });
  };
  const pair = (): string => `a=${encodeURIComponent(a.value())}&b=${encodeURIComponent(b.value())}`;
  const judge = (): Promise<void> => asked<Report>('Working out all runs of the ledger', () => post<Report>('/api/ask/verdict', { a: a.value(), b: b.value(), measure: measure.value(), margin: `${margin.value().replace(',', '.')}%` }, WORK_ms), (r) => [
    h('p', { class: 'verdict' }, r.says),
    ...(r.verdict.interval95 === null ? earlyText(r.verdict, r).map((words) => h('p', {}, words)) : [picture(r.verdict, r), h('p', {}, `Look ${r.look.look} at these two; ${r.verdict.n[0]} runs of ${r.a}, ${r.verdict.n[1]} of ${r.b}. Each look at new runs is counted, since looking often finds something by chance.`)]),
    ...r.warnings.map((w) => h('p', { class: 'warned' }, w)),
    ...r.left_out.map((l) => h('p', {}, `Left out: ${l.name} of ${l.build}: ${l.why}.`)),
  ]);
  const plan = (): Promise<void> => asked<PlanTold>('Drawing the order', () => get<PlanTold>(`/api/ask/plan?${pair()}&runs=${encodeURIComponent(runs.value())}`, WORK_ms), (p) => {
    const name = (side: 'A' | 'B'): string => (side === 'A' ? p.a : p.b);
    return [
      h('p', {}, p.next.length === 0 ? `So many runs of both are done: ask for a verdict, or for more runs a side.` : 'Run next, in this order, so that a steady drift of the bench cancels. Rebuild before each run: two runs without a rebuild tell nothing of building.'),
      h('ol', { class: 'order', 'aria-label': 'Order of the next runs' }, ...p.next.map((side) => h('li', {}, `${name(side)} (${side})`))),
      p.done.length === 0 ? null : h('p', {}, `Done so far: ${p.done.join(' ')}.`),
    ];
  });
  const effects = (): Promise<void> => asked<EffectsTold>('Working out the whole ledger', () => get<EffectsTold>(`/api/ask/effects?measure=${measure.value()}`, WORK_ms), (e) => [
    e.why === null ? null : h('p', {}, `No effects: ${e.why}.`),
    e.effects.length === 0 ? null : table('What each change did, all else alike', ['Change', 'Effect', '95 % interval', 'Runs'], e.effects.map((f) => [changesText(f.changes), percentText(f.share), `${percentText(f.interval95[0])} to ${percentText(f.interval95[1])}`, String(f.runs)])),
    ...e.entangled.map((group) => h('p', {}, `Cannot be told apart: ${changesText(group)}.`)),
    e.add_up === false ? h('p', { class: 'warned' }, 'the builds differ by more than these changes added up; the intervals are widened to that') : null,
  ]);

  const node = h(
    'section', { class: 'compare', 'aria-label': 'Comparison of builds' }, h('h2', {}, 'Which is better?'),
    h('div', { class: 'panel pairs' }, a.node, b.node, measure.node, margin.node, runs.node,
      h('div', { class: 'acts' }, button('Verdict', () => void judge()), button('Order of the next runs', () => void plan()), button('Main effects', () => void effects()))),
    said, place,
  );
  return node;
}

const changesText = (changes: readonly ChangeTold[]): string => changes.map((c) => `${c.part}: ${c.from} \u2192 ${c.to}`).join(', together with ');

const WIDTH = 700;

/** Zero, the band in which builds count as the same, the interval, and what was found. */
function picture(verdict: Judged, { a, b }: Report): HTMLElement {
  const width = across(WIDTH);
  const i = intervalOf(verdict, 20, width - 20);
  const [y, top, bottom] = [72, 34, 110];
  const bar = ([from, to]: readonly [number, number], thick: number, kind: string): SVGElement => s('path', { class: kind, 'stroke-width': thick, d: `M${from} ${y - thick * 2}V${y + thick * 2}M${from} ${y}H${to}M${to} ${y - thick * 2}V${y + thick * 2}` });
  const svg = s(
    'svg', { viewBox: `0 0 ${width} 140`, role: 'img', 'aria-label': intervalText(verdict, a, b) },
    s('rect', { class: 'same', x: i.same[0], y: top, width: i.same[1] - i.same[0], height: bottom - top }),
    s('text', { x: Math.max(70, (i.same[0] + i.same[1]) / 2), y: 14, 'text-anchor': 'middle' }, 'counts as the same'),
    s('path', { class: 'zero', d: `M${i.zero} ${top - 14}V${bottom}` }),
    ...i.ticks.flatMap(({ at, percent }) => [s('path', { class: 'grid', d: `M${at} ${bottom}v6` }), s('text', { x: at, y: bottom + 22, 'text-anchor': 'middle' }, `${percent} %`)]),
    ...(i.of_plan === null ? [] : [bar(i.of_plan, 1.5, 'thin')]),
    bar(i.within, 4, 'thick'),
    s('circle', { class: 'found', cx: i.at, cy: y, r: 7 }),
  );
  return h('figure', { class: 'picture' }, svg, h('figcaption', {}, `Difference of ${b} from ${a}. Thick: 95 % interval${i.of_plan === null ? '' : '; thin: widened for all looks of the plan'}. ${intervalText(verdict, a, b)}`));
}

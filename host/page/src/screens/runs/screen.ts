import '../../style/ledger.css';
import { get, post } from '../../lib/api.js';
import { makeActs } from '../../lib/acts.js';
import { button, h, on, put } from '../../lib/dom.js';
import { chooser, makeForm, open, panelKeys, textField } from '../../lib/fields.js';
import type { Screen } from '../../router.js';
import { makeCurves } from './curves.js';
import { makeDetail } from './detail.js';
import { runLines } from './view.js';
import type { RunTold } from './view.js';

/** Whose curves are drawn over each other; kept while one walks between the screens. */
const overlaid = new Set<number>();
let archivedToo = false;

/** Runs of the record: labelled forwards or backwards, changed, and looked into. @param rest number of the run that is open */
export function runsScreen(rest: string): Screen {
  const said = h('p', { role: 'status' });
  const panel = h('div');
  const list = h('ol', { class: 'lines', 'aria-label': 'Runs, newest first' });
  const place = h('div');
  const curves = makeCurves();
  let chosen = Number(rest);
  let runs: readonly RunTold[] = [];
  let shown: number[] = [];
  let detailKey: (key: string) => boolean = () => false;

  const draw = (): void => {
    const lines = runLines(runs, archivedToo);
    shown = lines.map((l) => l.run_id);
    list.replaceChildren(...lines.map((l) => {
      const box = h('input', { type: 'checkbox', checked: overlaid.has(l.run_id), 'aria-label': `Draw the curve of ${l.name}` });
      on(box, 'change', () => {
        if (box.checked) overlaid.add(l.run_id);
        else overlaid.delete(l.run_id);
        void drawCurves();
      });
      return h('li', { 'data-chosen': l.run_id === chosen }, h('label', { class: 'tick' }, box, h('span', {}, 'curve')), h('a', { href: `#/runs/${l.run_id}`, 'aria-current': l.run_id === chosen ? 'true' : null }, h('strong', {}, l.name), h('span', {}, `${l.when}, ${l.length}, ${l.build}`), h('span', { class: 'standing' }, l.standing)));
    }));
    if (lines.length === 0) list.replaceChildren(h('li', { class: 'none' }, 'No run is kept yet. Everything is recorded all the time: start a run now, or keep what has been.'));
    const run = runs.find((r) => r.run_id === chosen);
    if (run === undefined) {
      detailKey = () => false;
      place.replaceChildren();
      return;
    }
    const detail = makeDetail(run, (words) => void load(words));
    detailKey = detail.key;
    place.replaceChildren(detail.node);
  };
  const drawCurves = (): Promise<void> => curves.show(runs.filter((r) => overlaid.has(r.run_id)));
  const load = async (words = ''): Promise<void> => {
    const answer = await get<{ runs: readonly RunTold[] }>('/api/runs');
    put(said, answer.ok ? words : `Runs cannot be read: ${answer.message}`);
    if (!answer.ok) return;
    ({ runs } = answer.value);
    draw();
  };
  const ask = async (body: object, says: (name: string) => string): Promise<void> => {
    const answer = await post<{ run: RunTold }>('/api/runs', body);
    if (!answer.ok) {
      put(said, `Not done: ${answer.message}`);
      return;
    }
    open(panel, null);
    chosen = answer.value.run.run_id;
    await load(says(answer.value.run.name));
  };
  const labels = async (): Promise<{ name: ReturnType<typeof textField>; build: ReturnType<typeof chooser>; told: () => object }> => {
    const builds = await get<{ builds: readonly { name: string; archived: 0 | 1 }[] }>('/api/builds');
    const names = builds.ok ? builds.value.builds.filter((b) => b.archived === 0).map((b) => b.name) : [];
    const name = textField('Name; empty: date and number', { maxlength: 100 });
    const build = chooser('Build', [{ value: '', says: 'the one in use' }, { value: 'none', says: 'no build' }, ...names.map((n) => ({ value: n, says: n }))]);
    return { name, build, told: () => ({ ...(name.value() === '' ? {} : { name: name.value() }), ...(build.value() === '' ? {} : { build: build.value() }) }) };
  };
  const start = async (): Promise<void> => {
    const { name, build, told } = await labels();
    open(panel, makeForm('Start a run now; one that goes on ends', [name, build], 'Start', () => void ask({ does: 'start', ...told() }, (n) => `${n} has begun.`), () => open(panel, null)));
  };
  const keep = async (): Promise<void> => {
    const { name, build, told } = await labels();
    const last = textField('The last', { value: '15min' });
    const from = textField('Or from: a time in UTC, such as 10:20');
    const to = textField('to; empty: now');
    open(panel, makeForm('Keep what has been as a run', [last, from, to, name, build], 'Keep', () => void ask({ does: 'keep', ...(from.value() === '' ? { last: last.value() } : { from: from.value(), ...(to.value() === '' ? {} : { to: to.value() }) }), ...told() }, (n) => `Kept as ${n}.`), () => open(panel, null)));
  };
  const walk = (by: number): void => {
    const at = shown.indexOf(chosen);
    const next = shown[at < 0 ? 0 : Math.min(shown.length - 1, Math.max(0, at + by))];
    if (next !== undefined) location.hash = `#/runs/${next}`;
  };
  const acts = makeActs('Label the record', [
    { key: '1', says: 'start a run', act: () => void start() },
    { key: '2', says: 'end the run that goes on', act: () => void ask({ does: 'end' }, (n) => `${n} has ended.`) },
    { key: '3', says: 'keep what has been', act: () => void keep() },
    { key: '-', says: 'newer', act: () => walk(-1) },
    { key: '+', says: 'older', act: () => walk(1) },
  ]);
  const archive = button('Archived ones too', () => {
    archivedToo = !archivedToo;
    archive.setAttribute('aria-pressed', String(archivedToo));
    draw();
  }, { 'aria-pressed': String(archivedToo) });
  acts.node.append(archive);
  const node = h('div', { class: 'ledger' }, h('section', { class: 'index', 'aria-label': 'Runs' }, h('h2', {}, 'Runs'), acts.node, said, panel, list), h('div', { class: 'leaf' }, place, curves.node));
  void load().then(drawCurves);
  return {
    node,
    key: panelKeys(panel, acts.key, (key) => detailKey(key)),
    leave: () => undefined,
  };
}

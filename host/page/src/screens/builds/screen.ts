import '../../style/ledger.css';
import { get, post } from '../../lib/api.js';
import { makeActs } from '../../lib/acts.js';
import { h, put } from '../../lib/dom.js';
import { chooser, makeForm, open, panelKeys, textField } from '../../lib/fields.js';
import type { Screen } from '../../router.js';
import { makeCompare } from './compare.js';
import { makeDetail } from './detail.js';
import { buildLine } from './view.js';
import type { BuildRow } from '../../../../store/ledger/builds.js';

/** The ledger of the engine's states, and which of two is better. @param rest number of the build that is open */
export function buildsScreen(rest: string): Screen {
  const said = h('p', { role: 'status' });
  const warned = h('p', { class: 'warned', role: 'status', hidden: true });
  const panel = h('div');
  const list = h('ol', { class: 'lines', 'aria-label': 'Builds' });
  const place = h('div');
  const comparing = h('div');
  let chosen = Number(rest);
  let builds: readonly BuildRow[] = [];
  let detailKey: (key: string) => boolean = () => false;

  const draw = (): void => {
    const shown = builds.toReversed();
    list.replaceChildren(...shown.map((b) => h('li', { 'data-chosen': b.build_id === chosen }, h('a', { href: `#/builds/${b.build_id}`, 'aria-current': b.build_id === chosen ? 'true' : null }, h('strong', {}, b.name, b.current === 1 ? ' (in use)' : ''), h('span', {}, buildLine(b))))));
    if (shown.length === 0) list.replaceChildren(h('li', { class: 'none' }, 'No build is told yet. Add one for the engine as it stands; each change of a part is then another build, copied from the last.'));
    const active = builds.filter((b) => b.archived === 0);
    comparing.replaceChildren(...(active.length < 2 ? [] : [makeCompare(builds)]));
    const build = builds.find((b) => b.build_id === chosen);
    if (build === undefined) {
      detailKey = () => false;
      place.replaceChildren();
      return;
    }
    const detail = makeDetail(build, builds.filter((b) => b !== build).map((b) => b.name), (words, warning) => void load(words, warning));
    detailKey = detail.key;
    place.replaceChildren(detail.node);
  };
  const load = async (words = '', warning: string | null = null): Promise<void> => {
    const answer = await get<{ builds: readonly BuildRow[] }>('/api/builds');
    put(said, answer.ok ? words : `Builds cannot be read: ${answer.message}`);
    put(warned, warning ?? '');
    warned.hidden = warning === null;
    if (!answer.ok) return;
    ({ builds } = answer.value);
    draw();
  };
  const add = (): void => {
    const current = builds.find((b) => b.current === 1) ?? builds.at(-1);
    const name = textField('Name', { maxlength: 100 });
    const like = chooser('Its parts are those of', [...builds.map((b) => ({ value: b.name, says: b.name })), { value: 'none', says: 'none: an empty list' }], current?.name ?? 'none');
    const note = textField('Note: what was changed and why', { maxlength: 1000 });
    open(panel, makeForm('Add a build', [name, like, note], 'Add', () => void post<{ build: BuildRow }>('/api/builds', { does: 'add', name: name.value(), like: like.value(), note: note.value() }).then((answer) => {
      if (!answer.ok) {
        put(said, `Not done: ${answer.message}`);
        return;
      }
      open(panel, null);
      chosen = answer.value.build.build_id;
      void load(`${answer.value.build.name} is in the ledger. Now tell what is different about its parts, and put it in use when it is mounted.`);
    }), () => open(panel, null)));
  };
  const count = async (): Promise<void> => {
    put(said, 'Counting revolutions and heat cycles\u2026');
    const answer = await post<{ complete: boolean }>('/api/builds', { does: 'counters' });
    if (answer.ok) await load(answer.value.complete ? 'Counted up to now.' : 'Counted a part of it; press again for more, or leave it: the daemon counts as it records.');
    else put(said, answer.message);
  };
  const walk = (by: number): void => {
    const ids = builds.toReversed().map((b) => b.build_id);
    const at = ids.indexOf(chosen);
    const next = ids[at < 0 ? 0 : Math.min(ids.length - 1, Math.max(0, at + by))];
    if (next !== undefined) location.hash = `#/builds/${next}`;
  };
  const acts = makeActs('Ledger', [
    { key: '1', says: 'add a build', act: add },
    { key: '2', says: 'count wear', act: () => void count() },
    { key: '-', says: 'newer', act: () => walk(-1) },
    { key: '+', says: 'older', act: () => walk(1) },
  ]);
  const node = h('div', { class: 'ledger' }, h('section', { class: 'index', 'aria-label': 'Builds' }, h('h2', {}, 'Builds'), acts.node, said, warned, panel, list), h('div', { class: 'leaf' }, place, comparing));
  void load();
  return {
    node,
    key: panelKeys(panel, acts.key, (key) => detailKey(key)),
    leave: () => undefined,
  };
}

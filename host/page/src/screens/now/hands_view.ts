import { get, post } from '../../lib/api.js';
import type { Answer } from '../../lib/answer.js';
import { now_ms } from '../../lib/clock.js';
import { button, h, on, put, shown } from '../../lib/dom.js';
import { clockText } from '../../lib/words.js';
import { onChannel, onOpened } from '../../state.js';
import type { PageState } from '../../page_state.js';
import { makeGuidePane } from './guide_pane.js';
import { choicesOn, hands, isHand, KEEP_PRESET_min, markBody, markDone, muteDone, otherKeep, pages, pointDone, runDone } from './hands.js';
import type { Done, HandKey, Press } from './hands.js';
import type { Lead } from './lead.js';

interface MarkLine {
  readonly mark_id: number;
  readonly utc_us: number | null;
  readonly text: string | null;
  readonly archived?: number | boolean;
}
interface Marks {
  readonly marks: readonly MarkLine[];
  readonly presets: readonly string[];
}

const MUTE_min = 5;
const LOG_LINES = 6;

/** The log margin: what was marked, and a pad that does everything, by key and by finger. */
export function makeHands(lead: Lead): { readonly node: HTMLElement; readonly key: (key: string) => boolean; readonly draw: (state: PageState) => void; readonly leave: () => void } {
  let keep_min = KEEP_PRESET_min;
  let presets: readonly string[] = [];
  let asking: { readonly press: Promise<Press>; page: number } | null = null;
  let back: Done | null = null;

  const log = h('ol', { class: 'log', 'aria-label': 'Last marks' });
  const said = h('p', { class: 'said', role: 'status' });
  const list = h('div', { class: 'choices', role: 'group', 'aria-label': 'What to mark', hidden: true });
  const field = h('input', { type: 'text', maxlength: 200, 'aria-label': 'Words of the mark', placeholder: 'words of the mark' });
  const form = h('form', { class: 'words', hidden: true }, field, h('button', { type: 'submit' }, 'Mark'), button('Cancel', () => close()));
  const pad = h('div', { class: 'pad', role: 'group', 'aria-label': 'Hands, with their keys' });
  const watching = h('p', { class: 'watching', hidden: true });
  const guide = makeGuidePane();

  const labels = new Map<HandKey, HTMLElement>();
  for (const { key, says } of hands) {
    const label = h('span', {}, says);
    labels.set(key, label);
    const node = button('', () => act(key), { 'aria-keyshortcuts': key });
    node.append(h('kbd', {}, key), label);
    pad.append(node);
  }
  const labelKeep = (): void => put(labels.get('2') ?? pad, `keep last ${keep_min} min`);
  labelKeep();

  const refused = (answer: Answer<unknown>): void => {
    if (!answer.ok) put(said, `Not done: ${answer.message}`);
  };
  const did = (done: Done): void => {
    back = done;
    put(said, `Done: ${done.says}.${done.back === null ? '' : ' / takes it back.'}`);
  };

  const readLog = async (): Promise<void> => {
    const answer = await get<Marks>('/api/marks');
    if (!answer.ok) return;
    const late = presets.length !== answer.value.presets.length;
    presets = answer.value.presets;
    // Whoever was quick has the list open already.
    if (late && asking !== null && !list.hidden) ask(asking.page);
    const last = answer.value.marks.filter((m) => m.archived !== true && m.archived !== 1).toSorted((a, b) => (a.utc_us ?? 0) - (b.utc_us ?? 0)).slice(-LOG_LINES);
    if (last.length === 0) log.replaceChildren(h('li', {}, 'No mark yet: 1 sets one.'));
    else log.replaceChildren(...last.map((m) => h('li', {}, h('time', {}, clockText(m.utc_us)), ` ${m.text ?? 'press of the button'}`)));
  };

  const close = (): void => {
    asking = null;
    field.value = '';
    shown(list, false);
    shown(form, false);
    shown(pad, true);
    if (document.activeElement === field || list.contains(document.activeElement)) (pad.firstElementChild as HTMLElement | null)?.focus();
  };
  const mark = async (text: string, press: Promise<Press>): Promise<void> => {
    close();
    const answer = await post<{ mark: { mark_id: number } }>('/api/marks', markBody(text, await press, now_ms()));
    if (answer.ok) did(markDone(answer.value.mark.mark_id, text));
    refused(answer);
    await readLog();
  };
  const ask = (page: number): void => {
    asking ??= { press: pressed(), page };
    asking.page = page;
    list.replaceChildren(
      ...choicesOn(presets, page).map(({ key, says }) => {
        const node = button('', () => choose(key));
        node.append(h('kbd', {}, key), h('span', {}, says));
        return node;
      }),
      button('* own words', () => type()),
      button('. back', () => close()),
    );
    shown(pad, false);
    shown(form, false);
    shown(list, true);
  };
  const choose = (key: string): boolean => {
    if (asking === null) return false;
    if (key === '.') close();
    else if (key === '*') type();
    else {
      const found = choicesOn(presets, asking.page).find((c) => c.key === key);
      if (found === undefined) return false;
      if (key === '0') ask((asking.page + 1) % pages(presets));
      else void mark(found.says, asking.press);
    }
    return true;
  };
  const type = (): void => {
    asking ??= { press: pressed(), page: 0 };
    shown(pad, false);
    shown(list, false);
    shown(form, true);
    field.focus();
  };
  on(form, 'submit', (event) => {
    event.preventDefault();
    const text = field.value.trim();
    if (text !== '' && asking !== null) void mark(text, asking.press);
  });
  on(field, 'keydown', (event) => {
    if (event.key === 'Escape') close();
  });

  const keep = async (): Promise<void> => {
    const answer = await post<{ run: { run_id: number; name: string } }>('/api/runs', { does: 'keep', last: `${keep_min}min` });
    if (answer.ok) did(runDone(answer.value.run.run_id, answer.value.run.name));
    refused(answer);
  };
  const watch = async (body: object, done: Done): Promise<void> => {
    const answer = await post<unknown>('/api/watch', body);
    if (answer.ok) did(done);
    refused(answer);
  };
  const point = async (): Promise<void> => {
    const answer = await post<{ taken: { taken_id: number }; point: { number: number } }>('/api/points', { does: 'take', reason: 'taken by hand' });
    if (answer.ok) did(pointDone(answer.value.point.number, answer.value.taken.taken_id));
    refused(answer);
  };
  const undo = async (): Promise<void> => {
    if (back === null || back.back === null) {
      put(said, back === null ? 'Nothing of this page is left to take back.' : `Nothing takes this back: ${back.says}.`);
      return;
    }
    const answer = await post<unknown>(back.back.path, back.back.body);
    if (answer.ok) {
      put(said, `Taken back: ${back.says}.`);
      back = null;
    }
    refused(answer);
    await readLog();
  };

  const does: Readonly<Record<HandKey, () => void>> = {
    '1': () => ask(0),
    '2': () => void keep(),
    '3': () => void point(),
    '4': () => void guide.begin('zero'),
    '5': () => void guide.begin('check'),
    '6': () => void mark('coast-down', pressed()),
    '7': () => {
      if (!lead.open()) put(said, 'Nothing is missing before the bench measures.');
    },
    '0': () => void watch({ does: 'mute', minutes: MUTE_min }, muteDone(MUTE_min)),
    '9': () => void watch({ does: 'acknowledge' }, { says: 'alarms acknowledged', back: null }),
    '*': () => type(),
    '-': () => less(false),
    '+': () => less(true),
    '/': () => void undo(),
  };
  const less = (up: boolean): void => {
    keep_min = otherKeep(keep_min, up);
    labelKeep();
    put(said, `Key 2 keeps the last ${keep_min} min.`);
  };
  let may = false;
  const act = (key: HandKey): void => {
    if (may) does[key]();
  };

  void readLog();
  const unhear = [
    onChannel('mark', () => void readLog()),
    onChannel('kept', (value) => {
      if ((value as { route: string }).route === 'marks') void readLog();
    }),
    onOpened(() => void readLog()),
  ];
  return {
    node: h('aside', { class: 'margin', 'aria-label': 'Log and hands' }, log, said, watching, guide.node, list, form, pad),
    key: (key) => {
      if (!may) return false;
      if (guide.key(key)) return true;
      if (asking !== null) return choose(key);
      if (lead.key(key)) return true;
      if (!isHand(key)) return false;
      act(key);
      return true;
    },
    draw: ({ access }) => {
      may = access?.may_change === true;
      shown(watching, access !== null && !may);
      put(watching, access?.why ?? '');
      if (!may) shown(pad, false);
      else if (asking === null) shown(pad, true);
    },
    leave: () => {
      for (const end of unhear) end();
      guide.leave();
    },
  };
}

/** The bench is asked at once what time it is there: its clock may run faster than this machine's, and otherwise. */
async function pressed(): Promise<Press> {
  const at_ms = now_ms();
  const answer = await get<{ utc_us: number }>('/api/clock');
  return { at_ms, bench_utc_us: answer.ok ? answer.value.utc_us : null };
}

import type { GuideState } from '../../../../serve/guide_desk.js';
import { get, post } from '../../lib/api.js';
import type { Answer } from '../../lib/answer.js';
import { button, h, on, put, shown } from '../../lib/dom.js';
import { onChannel, onOpened } from '../../state.js';

interface Told {
  readonly guide: GuideState;
}

const titles: Readonly<Record<string, string>> = { zero: 'Zero', check: 'Check mass' };

/** A zero or a check, step by step, in the margin: what to do, what is read, and the words that may be said. */
export function makeGuidePane(): { readonly node: HTMLElement; readonly begin: (act: 'zero' | 'check') => Promise<void>; readonly key: (key: string) => boolean; readonly leave: () => void } {
  const title = h('h2');
  const says = h('p', { role: 'status' });
  const reading = h('p', { class: 'reading' });
  const told = h('p', { class: 'told', role: 'status' });
  const words = h('div', { class: 'choices' });
  const field = h('input', { type: 'text', maxlength: 200, 'aria-label': 'Answer' });
  const form = h('form', { class: 'words', hidden: true }, field, h('button', { type: 'submit' }, 'Answer'));
  const node = h('section', { class: 'guide', 'aria-label': 'Guided work', hidden: true }, title, says, reading, form, words, told);
  let id = 0;
  let step = 0;
  let now: readonly string[] = [];
  let drawn = '';
  let stop = (): void => undefined;

  const close = (): void => {
    stop();
    shown(node, false);
    now = [];
    drawn = '';
  };
  const answer = async (word: string): Promise<void> => take(await post<Told>('/api/guide/answer', { step, word }));
  const take = (answer_: Answer<Told>): void => {
    if (!answer_.ok) {
      put(told, `Not done: ${answer_.message}`);
      return;
    }
    draw(answer_.value.guide);
  };
  const draw = (guide: GuideState): void => {
    if (guide === null) {
      close();
      return;
    }
    // What was on its way when an answer was given may come after it.
    if (guide.id < id || (guide.id === id && guide.step < step)) return;
    ({ id, step } = guide);
    put(title, titles[guide.act] ?? guide.act);
    put(says, guide.prompt.says);
    put(reading, guide.live === null ? '' : `${guide.live.reading ?? 'no reading'}${guide.live.settled ? ', settled' : guide.live.why_not === null ? '' : `: ${guide.live.why_not}`}`);
    put(told, guide.said.at(-1)?.text ?? '');
    shown(form, guide.ended === null && guide.prompt.asks === 'text');
    field.placeholder = guide.prompt.example ?? '';
    const list = guide.ended === null ? guide.prompt.words : [];
    const key = JSON.stringify([guide.step, guide.ended, list]);
    if (key === drawn) return;
    drawn = key;
    now = list.map((w) => w.word);
    words.replaceChildren(
      ...list.map(({ word, says: meaning }, i) => {
        const b = button('', () => void answer(word), { title: meaning });
        b.append(h('kbd', {}, String(i + 1)), h('span', {}, `${word === '' ? 'Enter' : word}: ${meaning}`));
        return b;
      }),
      ...(guide.ended === null ? [] : [button('. close', close)]),
    );
    if (guide.ended !== null) stop();
    if (guide.ended === null && guide.prompt.asks === 'text') field.focus();
  };
  on(form, 'submit', (event) => {
    event.preventDefault();
    const word = field.value;
    field.value = '';
    void answer(word);
  });

  return {
    node,
    begin: async (act) => {
      stop();
      put(told, '');
      shown(node, true);
      const ends = [onChannel('guide', (value) => draw(value as GuideState)), onOpened(() => void get<Told>('/api/guide').then(take))];
      stop = () => {
        for (const end of ends) end();
      };
      [id, step] = [0, 0];
      take(await post<Told>('/api/guide/begin', { act, answers: {} }));
    },
    key: (key) => {
      if (node.hidden) return false;
      const word = now[Number(key) - 1];
      if (/^\d$/.test(key) && word !== undefined) void answer(word);
      else if (key === 'Enter' && now.includes('')) void answer('');
      else if (key === '.' && now.length === 0) close();
      else return false;
      return true;
    },
    leave: () => stop(),
  };
}

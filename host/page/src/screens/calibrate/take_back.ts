import { post } from '../../lib/api.js';
import { button, h, put, shown } from '../../lib/dom.js';
import { makeForm, open, textField } from '../../lib/fields.js';
import { upper } from '../../lib/words.js';

/** Something of the record that can be taken back, and kept again as a row of its own. */
export interface Holding {
  /** Such as `zero 3`. */
  readonly what: string;
  readonly path: string;
  /** What is to be posted, but for the reason. */
  readonly retire: object;
  readonly restore: object;
  /** What taking it back means. */
  readonly means: string;
}

/** The last act of a screen that can be undone, wherever it was done. */
export interface Undoes {
  undo: (() => void) | null;
}

export interface TakeBack {
  /** What was said last, and the way back. */
  readonly node: HTMLElement;
  /** In the row of what it is of: takes back, asking back with the reason, or keeps again. */
  readonly button: (holding: Holding, retired: boolean) => HTMLButtonElement;
  readonly says: (words: string) => void;
}

/** @param panel where it asks back; @param done told when something has changed */
export function makeTakeBack(panel: HTMLElement, undoes: Undoes, done: () => Promise<unknown>): TakeBack {
  const said = h('p', { role: 'status' });
  let mine: (() => void) | null = null;
  const back = button('', () => mine?.(), { hidden: true });
  back.append(h('kbd', {}, '/'), ' undo');
  const says = (words: string, undo: (() => void) | null = null): void => {
    put(said, words);
    if (undo !== null || undoes.undo === mine) undoes.undo = undo;
    mine = undo;
    shown(back, undo !== null);
  };
  const send = async ({ path }: Holding, body: object, words: string, undo: (() => void) | null): Promise<void> => {
    const answer = await post<unknown>(path, body);
    if (!answer.ok) {
      put(said, `Not done: ${answer.message}`);
      return;
    }
    open(panel, null);
    await done();
    says(words, undo);
  };
  const restore = (holding: Holding): Promise<void> => send(holding, { ...holding.restore, remark: 'taken back by mistake' }, `${upper(holding.what)} is kept again, under a number of its own.`, null);
  const ask = (holding: Holding): void => {
    const reason = textField('Why it was wrong; kept with it');
    open(panel, makeForm(`Take ${holding.what} back? ${holding.means}`, [reason], 'Take it back', () => {
      if (reason.value() === '') put(said, 'Say why: it is kept with it.');
      else void send(holding, { ...holding.retire, remark: reason.value() }, `${upper(holding.what)} was taken back. / undoes it.`, () => void restore(holding));
    }, () => open(panel, null)));
  };
  return {
    node: h('div', { class: 'saying' }, said, back),
    says,
    button: (holding, retired) => (retired
      ? button('keep again', () => void restore(holding), { 'aria-label': `Keep again ${holding.what}` })
      : button('take back', () => ask(holding), { 'aria-label': `Take back ${holding.what}` })),
  };
}

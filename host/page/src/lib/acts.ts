import { button, h } from './dom.js';

/** What can be done, by a key of the pad and by a button that names the key. */
export interface KeyAct {
  /** Empty: by its button alone. */
  readonly key: string;
  readonly says: string;
  readonly act: () => void;
}

export function makeActs(label: string, list: readonly KeyAct[]): { readonly node: HTMLElement; readonly key: (key: string) => boolean } {
  const node = h('div', { class: 'acts', role: 'group', 'aria-label': label }, ...list.map(({ key, says, act }) => {
    const b = button('', act);
    b.append(...(key === '' ? [] : [h('kbd', {}, key), ' ']), says);
    return b;
  }));
  return {
    node,
    key: (key) => {
      const found = list.find((a) => a.key === key);
      found?.act();
      return found !== undefined;
    },
  };
}

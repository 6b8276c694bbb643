import { chooseUnits, state } from '../state.js';
import { button, h, on } from './dom.js';
import { choices, kinds } from './units.js';

const LIGHT = 'smallbrake light';
const lights = ['as the machine has it', 'light', 'dark'] as const;

function setLight(word: string | null): void {
  const scheme = word === 'light' || word === 'dark' ? word : null;
  if (scheme === null) delete document.documentElement.dataset['light'];
  else document.documentElement.dataset['light'] = scheme;
}

/** Units and light, kept in this browser. No stored data changes. */
export function makeSettings(): HTMLDialogElement {
  setLight(localStorage.getItem(LIGHT));
  const chooser = (name: string, words: readonly string[], chosen: number, choose: (i: number) => void): HTMLElement => {
    const select = h('select', {}, ...words.map((word, i) => h('option', { value: i, selected: i === chosen }, word)));
    on(select, 'change', () => choose(select.selectedIndex));
    return h('label', {}, name, select);
  };
  const units = kinds.map((kind) => chooser(kind, choices[kind].map((u) => u.name), state().units[kind], (i) => chooseUnits({ ...state().units, [kind]: i })));
  const light = chooser('light', lights, Math.max(0, lights.findIndex((l) => l === localStorage.getItem(LIGHT))), (i) => {
    localStorage.setItem(LIGHT, lights[i] ?? '');
    setLight(lights[i] ?? null);
  });
  const dialog = h('dialog', { class: 'advice', 'aria-label': 'Units and light' }, h('h2', {}, 'Units and light'), h('p', {}, 'For this screen alone: what is recorded stays as it is.'), ...units, light);
  dialog.append(button('Close', () => dialog.close()));
  return dialog;
}

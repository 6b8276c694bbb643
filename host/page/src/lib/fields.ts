import { button, h, on } from './dom.js';

/** What a form is made of: each field with its words above it. */
export interface Field {
  readonly node: HTMLElement;
  readonly value: () => string;
}

export function textField(says: string, props: Readonly<Record<string, string | number | boolean | null>> = {}): Field {
  const input = h('input', { type: 'text', maxlength: 200, ...props });
  return { node: h('label', { class: 'field' }, h('span', {}, says), input), value: () => input.value.trim() };
}

export function chooser(says: string, options: readonly { readonly value: string; readonly says: string }[], chosen = ''): Field {
  const select = h('select', {}, ...options.map((o) => h('option', { value: o.value, selected: o.value === chosen }, o.says)));
  return { node: h('label', { class: 'field' }, h('span', {}, says), select), value: () => select.value };
}

/** @param does the words of the button that does it; @param cancel null: it stands there always */
export function makeForm(title: string, fields: readonly Field[], does: string, act: () => void, cancel: (() => void) | null = null): HTMLFormElement {
  const node = h('form', { class: 'panel', 'aria-label': title }, h('h3', {}, title), ...fields.map((f) => f.node));
  node.append(h('div', { class: 'acts' }, h('button', { type: 'submit' }, does), cancel === null ? null : button('Cancel', cancel)));
  on(node, 'submit', (event) => {
    event.preventDefault();
    act();
  });
  // Here a dot is written, so that the way out is the other key.
  on(node, 'keydown', (event) => {
    if (event.key === 'Escape') cancel?.();
  });
  return node;
}

/** Fields that most leave empty, one key away. */
export function folded(says: string, fields: readonly Field[]): Field {
  return { node: h('details', {}, h('summary', {}, says), ...fields.map((f) => f.node)), value: () => '' };
}

/** Who opened the panel of a place: there one goes on when it closes. */
const openers = new WeakMap<HTMLElement, Element>();

/** Into a place that holds one panel at most; its first field is written in at once, or the one that asks for it; without a field it is read. */
export function open(place: HTMLElement, panel: HTMLElement | null): void {
  const { activeElement } = document;
  if (panel === null) {
    const opener = openers.get(place);
    const within = place.contains(activeElement);
    place.replaceChildren();
    if (within && opener instanceof HTMLElement && opener.isConnected) opener.focus({ preventScroll: true });
    return;
  }
  if (activeElement !== null && activeElement !== document.body && !place.contains(activeElement)) openers.set(place, activeElement);
  place.replaceChildren(panel);
  (panel.querySelector<HTMLElement>('[autofocus]') ?? panel.querySelector<HTMLElement>('input, select') ?? panel).focus();
  panel.scrollIntoView({ block: 'nearest' });
}

/** Keys of a screen with a panel: `.` closes it, all others go to who knows them, in order. */
export function panelKeys(panel: HTMLElement, ...to: readonly ((key: string) => boolean)[]): (key: string) => boolean {
  return (key) => {
    if (key !== '.' || panel.childElementCount === 0) return to.some((take) => take(key));
    open(panel, null);
    return true;
  };
}

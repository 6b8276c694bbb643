type Child = Node | string | null;
type Props = Readonly<Record<string, string | number | boolean | null>>;

/** An element with attributes and children. Text only ever becomes a text node; null and false leave an attribute out. */
export function h<K extends keyof HTMLElementTagNameMap>(tag: K, props: Props = {}, ...children: readonly Child[]): HTMLElementTagNameMap[K] {
  const node = document.createElement(tag);
  attributes(node, props);
  node.append(...children.filter((c) => c !== null));
  return node;
}

const SVG = 'http://www.w3.org/2000/svg';

export function s<K extends keyof SVGElementTagNameMap>(tag: K, props: Props = {}, ...children: readonly Child[]): SVGElementTagNameMap[K] {
  const node = document.createElementNS(SVG, tag);
  attributes(node, props);
  node.append(...children.filter((c) => c !== null));
  return node;
}

export function attributes(node: Element, props: Props): void {
  for (const [name, value] of Object.entries(props)) {
    if (value === null || value === false) node.removeAttribute(name);
    else node.setAttribute(name, value === true ? '' : String(value));
  }
}

/** Nothing is touched where nothing changed: a screen reader would say it again. */
export function put(node: Node, text: string): void {
  if (node.textContent !== text) node.textContent = text;
}

export function shown(node: HTMLElement, yes: boolean): void {
  if (node.hidden === yes) node.hidden = !yes;
}

/** @returns ends it */
export function on<K extends keyof HTMLElementEventMap>(node: HTMLElement, event: K, act: (event: HTMLElementEventMap[K]) => void): () => void {
  node.addEventListener(event, act);
  return () => node.removeEventListener(event, act);
}

/** A button large enough for a gloved finger. */
export function button(text: string, act: () => void, props: Props = {}): HTMLButtonElement {
  const node = h('button', { type: 'button', ...props }, text);
  node.addEventListener('click', act);
  return node;
}

/**
 * Draws a place anew, unless it would look the same: a button that is exchanged under a finger is not pressed. Whoever stood on
 * one of its buttons goes on standing on the one of that name, else at its first stop.
 * @param nodes whose acts go by nothing that is not seen in them
 */
export function renew(place: HTMLElement, ...nodes: readonly Node[]): void {
  const next = h('div', {}, ...nodes);
  if (next.innerHTML === place.innerHTML) return;
  const stood = place.contains(document.activeElement) ? document.activeElement?.getAttribute('aria-label') : undefined;
  place.replaceChildren(...next.childNodes);
  if (stood === undefined) return;
  const same = stood === null ? null : place.querySelector<HTMLElement>(`[aria-label="${CSS.escape(stood)}"]`);
  (same ?? place.querySelector<HTMLElement>('[tabindex], button'))?.focus({ preventScroll: true });
}

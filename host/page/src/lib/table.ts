import { h } from './dom.js';

type Cell = Node | string;

/** A ruled table; the first cell of a row names it. On a narrow screen it scrolls in its own box, which a key can reach. */
export function table(caption: string, heads: readonly string[], rows: readonly (readonly Cell[])[]): HTMLElement {
  return made('ruled', caption, heads, rows);
}

/** The same; on a narrow screen each row is a block of its own, its cells below each other, and nothing scrolls sideways. */
export function blockTable(caption: string, heads: readonly string[], rows: readonly (readonly Cell[])[]): HTMLElement {
  return made('ruled blocks', caption, heads, rows);
}

function made(kind: string, caption: string, heads: readonly string[], rows: readonly (readonly Cell[])[]): HTMLElement {
  const cell = (c: Cell, i: number): HTMLElement => (i === 0 ? h('th', { scope: 'row' }, c) : h('td', { 'data-head': heads[i] ?? '' }, c));
  return h('div', { class: 'scrolls', tabindex: 0, role: 'region', 'aria-label': caption }, h(
    'table', { class: kind },
    h('caption', {}, caption),
    h('thead', {}, h('tr', {}, ...heads.map((t) => h('th', { scope: 'col' }, t)))),
    h('tbody', {}, ...rows.map((cells) => h('tr', {}, ...cells.map(cell)))),
  ));
}

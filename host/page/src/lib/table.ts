import { h } from './dom.js';

/** A ruled table; the first cell of a row names it. On a narrow screen it scrolls in its own box, which a key can reach. */
export function table(caption: string, heads: readonly string[], rows: readonly (readonly (Node | string)[])[]): HTMLElement {
  return h('div', { class: 'scrolls', tabindex: 0, role: 'region', 'aria-label': caption }, h(
    'table', { class: 'ruled' },
    h('caption', {}, caption),
    h('thead', {}, h('tr', {}, ...heads.map((t) => h('th', { scope: 'col' }, t)))),
    h('tbody', {}, ...rows.map((cells) => h('tr', {}, ...cells.map((c, i) => (i === 0 ? h('th', { scope: 'row' }, c) : h('td', {}, c)))))),
  ));
}

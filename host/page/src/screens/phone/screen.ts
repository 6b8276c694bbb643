import { h } from '../../lib/dom.js';
import type { Screen } from '../../router.js';
import { subscribe } from '../../state.js';

/** Codes for a phone on the same network: one to watch, one to mark. */
export function phoneScreen(): Screen {
  const codes = h('div', { class: 'codes' });
  const node = h('section', { class: 'sheet', 'aria-label': 'Phone' }, h('h2', {}, 'On a phone'), codes);
  let shownFor = '';
  const leave = subscribe(({ access }) => {
    const links = access === null ? [] : ([['To watch: reads, and can change nothing', access.watch_url], ['To mark: may do all that this page may', access.mark_url]] as const).flatMap(([says, url]) => (url === null ? [] : [{ says, url }]));
    const now = JSON.stringify([access === null, links]);
    if (now === shownFor) return;
    shownFor = now;
    if (links.length === 0) {
      codes.replaceChildren(h('p', {}, access === null ? 'Waiting for the daemon.' : 'Only this machine can reach the bench. To let phones of your network read it, start the daemon with: npx smallbrake serve --listen 0.0.0.0:8137'));
      return;
    }
    codes.replaceChildren(...links.map(({ says, url }) => {
      const figure = h('figure', {}, h('figcaption', {}, says, h('br'), h('a', { href: url }, url)));
      void import('./code.js').then(({ codeOf }) => figure.prepend(codeOf(url, says)));
      return figure;
    }));
  });
  return { node, leave };
}

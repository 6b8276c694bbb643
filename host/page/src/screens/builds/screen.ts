import { h } from '../../lib/dom.js';
import type { Screen } from '../../router.js';

export function buildsScreen(): Screen {
  const node = h('section', { class: 'sheet', 'aria-label': 'Builds' }, h('h2', {}, 'Builds'), h('p', {}, 'This screen is not built yet. Until it is, the same is done at the command line: npx smallbrake builds --help.'));
  return { node, leave: () => undefined };
}

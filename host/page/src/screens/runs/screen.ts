import { h } from '../../lib/dom.js';
import type { Screen } from '../../router.js';

export function runsScreen(): Screen {
  const node = h('section', { class: 'sheet', 'aria-label': 'Runs' }, h('h2', {}, 'Runs'), h('p', {}, 'This screen is not built yet. Until it is, the same is done at the command line: npx smallbrake runs --help.'));
  return { node, leave: () => undefined };
}

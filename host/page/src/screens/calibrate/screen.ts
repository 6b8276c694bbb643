import { h } from '../../lib/dom.js';
import type { Screen } from '../../router.js';

export function calibrateScreen(): Screen {
  const node = h('section', { class: 'sheet', 'aria-label': 'Calibrate' }, h('h2', {}, 'Calibrate'), h('p', {}, 'This screen is not built yet. Until it is, the same is done at the command line: npx smallbrake calibrate --help.'));
  return { node, leave: () => undefined };
}

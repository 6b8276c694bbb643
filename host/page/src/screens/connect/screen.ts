import { h, put, shown } from '../../lib/dom.js';
import type { Screen } from '../../router.js';
import { subscribe } from '../../state.js';

const steps: readonly string[] = [
  'Plug the sensor board in: a USB cable that carries data, not one that only charges. Its light goes on.',
  'Leave it to the daemon: it looks for boards by itself and takes this one up within seconds. Nothing is to be pressed.',
  'Does it not come? Close every other program that has the port open, and see what is wrong with: npx smallbrake doctor',
  'A new board needs its firmware once: hardware-notes/board.md says how it is flashed.',
  'No board at hand? An emulated one comes with: npx smallbrake serve --scenario firmware/twin/scenarios/teasel.json. All that comes of it is marked as simulated, and is kept in a file of its own.',
];

/** What to do until a board is live, and that it is. */
export function connectScreen(): Screen {
  const now = h('p', { role: 'status' });
  const back = h('a', { class: 'way', href: '#/now', hidden: true }, h('kbd', {}, '1'), ' To Now');
  const node = h('section', { class: 'sheet', 'aria-label': 'Connect a board' }, h('h2', {}, 'Connect a board'), now, back, h('ol', {}, ...steps.map((text) => h('li', {}, text))));
  let live = false;
  const leave = subscribe(({ freshness, health, board }) => {
    live = freshness === 'live' && health?.status === 'live';
    put(now, live ? `Board ${board?.id ?? ''} is live.` : freshness !== 'live' || health === null ? 'The daemon does not answer: start it with npx smallbrake serve.' : `No board is live: ${health.reason ?? health.status}`);
    shown(back, live);
  });
  return {
    node,
    key: (key) => {
      if (!live || key !== '1') return false;
      location.hash = '#/now';
      return true;
    },
    leave,
  };
}

import { makeAlarmBanner } from './lib/alarm_banner.js';
import { attributes, button, h, put, shown } from './lib/dom.js';
import { makeSettings } from './lib/settings.js';
import { headNames, screenTitles } from './router.js';
import type { ScreenName } from './router.js';
import { cautions } from './lib/cautions.js';
import { change, subscribe } from './state.js';
import { stateLine } from './state_line.js';

/** What stands around every screen: the head with its stamp, the way to the other screens, the line of the link, the cautions. */
export function makeFrame(): { readonly node: HTMLElement; readonly show: (name: ScreenName, screen: HTMLElement) => void; readonly toHead: () => void } {
  const stamp = h('strong', { class: 'stamp', role: 'status', hidden: true }, 'SIMULATED');
  const line = h('p', { class: 'link', role: 'status' }, 'connecting');
  const links = new Map<ScreenName, HTMLAnchorElement>(headNames.map((name) => [name, h('a', { href: `#/${name}` }, screenTitles[name])]));
  const advice = h('dialog', { class: 'advice', 'aria-label': 'Before the engine runs' }, h('h2', {}, 'Before the engine runs'), h('ul', {}, ...cautions.map((c) => h('li', {}, c))));
  advice.append(button('Close', () => advice.close()));
  const settings = makeSettings();
  const head = h(
    'header', {},
    h('h1', {}, 'smallbrake'), stamp,
    h('nav', { 'aria-label': 'Screens' }, ...links.values()),
    line,
    h('div', { class: 'tools' }, button('Units, light', () => settings.showModal()), button('Cautions', () => advice.showModal(), { class: 'caution' })),
  );
  const place = h('main', { id: 'screen' });
  const alarms = makeAlarmBanner(() => change({}));
  const node = h('div', { class: 'frame' }, head, alarms.node, place, advice, settings);

  subscribe(alarms.draw);
  subscribe((state) => {
    shown(stamp, state.simulated === true);
    node.classList.toggle('simulated', state.simulated === true);
    const { text, wrong } = stateLine(state);
    put(line, text);
    line.classList.toggle('wrong', wrong);
    const marked = document.title.startsWith('SIMULATED');
    if (state.simulated === true && !marked) document.title = `SIMULATED \u2013 ${document.title}`;
    else if (state.simulated !== true && marked) document.title = document.title.replace(/^SIMULATED \u2013 /, '');
  });
  return {
    node,
    show: (name, screen) => {
      for (const [n, link] of links) attributes(link, { 'aria-current': n === name ? 'page' : null });
      place.replaceChildren(screen);
    },
    toHead: () => [...links.values()][0]?.focus(),
  };
}

import '../style/alarm.css';
import type { PageState } from '../page_state.js';
import { post } from './api.js';
import { bannerOf, soundNote } from './alarm_view.js';
import { elapsed_ms } from './clock.js';
import { attributes, button, h, put, shown } from './dom.js';
import { makeSound } from './sound.js';
import { soundNow } from './tones.js';

const MUTE_min = 5;
/** For the alarm that the page itself gives when it has lost its bench. */
const LOST_QUIET_ms = 120_000;

/** What stands and its sound, above every screen. The draw is called with each new state. */
export function makeAlarmBanner(redraw: () => void): { readonly node: HTMLElement; readonly draw: (state: PageState) => void } {
  const sound = makeSound(redraw);
  let wasLive = false;
  let quiet_until_ms = -Infinity;
  let drawn = '';

  const note = h('p', { class: 'sound-off', role: 'status', hidden: true });
  const head = h('h2', { role: 'alert' });
  const list = h('ol', {});
  const states = h('p', { class: 'still-hot', role: 'status', hidden: true });
  const advises = h('p', { class: 'advises' });
  const said = h('p', { role: 'status' });
  const act = async (body: object, done: string): Promise<void> => {
    const answer = await post<unknown>('/api/watch', body);
    put(said, answer.ok ? done : `Not done: ${answer.message}`);
  };
  const acknowledge = button('Acknowledge', () => void act({ does: 'acknowledge' }, 'acknowledged'));
  const mute = button(`Mute ${MUTE_min} min (too hot: 2 at most)`, () => void act({ does: 'mute', minutes: MUTE_min }, 'kept quiet'));
  const unmute = button('Sound again', () => void act({ does: 'unmute' }, 'heard again'));
  const lost = button('Mute for 2 min: no bench', () => {
    quiet_until_ms = elapsed_ms() + LOST_QUIET_ms;
    redraw();
  });
  const alarm = h('section', { class: 'alarm', 'aria-label': 'Alarms', hidden: true }, head, list, h('div', { class: 'acts' }, acknowledge, mute, unmute), said, advises);
  const node = h('div', { class: 'alarms' }, note, alarm, states, lost);

  return {
    node,
    draw: (state) => {
      wasLive ||= state.freshness === 'live';
      const heard = soundNow(state, wasLive, elapsed_ms() < quiet_until_ms);
      sound.play(heard);
      const banner = bannerOf(state.watch);
      const off = soundNote(sound.heard(), state.freshness);
      const away = state.freshness === 'lost' || state.freshness === 'stale';
      shown(lost, away && heard !== null);
      shown(note, off !== null);
      put(note, off ?? '');
      shown(alarm, banner.level !== null);
      shown(states, banner.states.length > 0);
      put(states, banner.states.join(' '));
      attributes(alarm, { 'data-level': banner.level, 'data-cause': banner.cause });
      put(head, banner.head);
      put(advises, banner.advises);
      const may = state.access?.may_change !== false && !away;
      for (const [wanted, b] of [[banner.acknowledge, acknowledge], [banner.mute, mute], [banner.unmute, unmute]] as const) shown(b, wanted && may);
      const text = JSON.stringify(banner.rows);
      if (text === drawn) return;
      drawn = text;
      list.replaceChildren(...banner.rows.map((row) => h('li', {}, banner.rows.length === 1 ? null : h('strong', {}, `${row.level} ${row.name}: `), row.says, h('small', {}, ` (${row.state})`))));
    },
  };
}

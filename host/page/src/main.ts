import { get, keepToken } from './lib/api.js';
import { onPad } from './lib/keys.js';
import { followStream } from './lib/stream.js';
import { screenOf, screenTitles } from './router.js';
import type { Screen, ScreenName } from './router.js';
import { makeFrame } from './frame.js';
import { buildsScreen } from './screens/builds/screen.js';
import { calibrateScreen } from './screens/calibrate/screen.js';
import { connectScreen } from './screens/connect/screen.js';
import { limitsScreen } from './screens/limits/screen.js';
import { nowScreen } from './screens/now/screen.js';
import { phoneScreen } from './screens/phone/screen.js';
import { runsScreen } from './screens/runs/screen.js';
import { accessOf } from './lib/access.js';
import type { History } from './lib/ring.js';
import { change, onWanted, opened, refill, setFreshness, state, STRIP_s, take, wanted } from './state.js';

const makers: Readonly<Record<ScreenName, (rest: string) => Screen>> = {
  now: nowScreen, calibrate: calibrateScreen, runs: runsScreen, builds: buildsScreen, limits: limitsScreen, phone: phoneScreen, connect: connectScreen,
};

keepToken();
const frame = makeFrame();
document.getElementById('page')?.append(frame.node);

let screen: Screen | null = null;
const go = (): void => {
  const { name, rest } = screenOf(location.hash);
  screen?.leave();
  screen = makers[name](rest);
  frame.show(name, screen.node);
  document.title = `${state().simulated === true ? 'SIMULATED \u2013 ' : ''}${screenTitles[name]} \u2013 smallbrake`;
};
window.addEventListener('hashchange', go);
onPad((key) => {
  if (screen?.key?.(key) === true) return true;
  if (key !== '.') return false;
  // Out of whatever one is in: to the head, which leads to the other screens.
  frame.toHead();
  return true;
});
go();

const ask = followStream({
  message: take,
  freshness: setFreshness,
  boardLive: () => state().health?.status === 'live',
  wanted,
  opened: () => {
    opened();
    void get<unknown>('/api/access').then((answer) => change({ access: accessOf(answer, location.hostname) }));
    void get<History>(`/api/history?minutes=${STRIP_s / 60}&most=600`).then((answer) => {
      if (answer.ok) refill(answer.value);
    });
  },
});
onWanted(ask);

import '../../style/ledger.css';
import '../../style/calibrate.css';
import { get } from '../../lib/api.js';
import { makeActs } from '../../lib/acts.js';
import { h, put, shown } from '../../lib/dom.js';
import { panelKeys } from '../../lib/fields.js';
import { missingOf } from '../../lib/missing.js';
import type { Missing } from '../../lib/missing.js';
import type { Screen } from '../../router.js';
import { onChannel, onOpened, subscribe } from '../../state.js';
import { makeEntered } from './entered.js';
import { acts as guides, isAct, makeGuide } from './guide.js';
import { makeKept } from './kept.js';
import type { Undoes } from './take_back.js';
import { makeZeros } from './zeros.js';

/** Leads by the hand through what makes counts into values. @param rest a guided work that is to begin, such as `load` */
export function calibrateScreen(rest: string): Screen {
  const undoes: Undoes = { undo: null };
  const kept = makeKept(undoes);
  const zeros = makeZeros(undoes);
  const entered = makeEntered(undoes);
  const lacks = h('ul', { class: 'missing', 'aria-label': 'What is missing' });
  const away = h('p', { class: 'warned', role: 'status', hidden: true }, 'No board is live: nothing can be read for a calibration now.');
  let calibrated: readonly string[] | null = null;
  let builds: number | null = null;
  let drawn = '';

  const load = async (): Promise<void> => {
    const [list, ledger] = await Promise.all([kept.load(), get<{ builds: readonly unknown[] }>('/api/builds')]);
    calibrated = list?.filter((c) => c.in_force === 1).map((c) => c.channel) ?? null;
    builds = ledger.ok ? ledger.value.builds.length : null;
    drawMissing();
  };
  const guide = makeGuide((going) => {
    // The digits are the guide's as long as it is going on, and so is the room.
    for (const part of [intro, kept.node, zeros.node, entered.node]) shown(part, !going);
    if (!going) void load();
  });
  const begin = makeActs('Begin', guides.map(({ act, says }, i) => ({ key: String(i + 1), says, act: () => void guide.begin(act) })));
  const intro = h('div', {}, lacks, h('p', {}, 'Each of these leads step by step, and keeps nothing until you say so:'), begin.node);
  let live = false;
  let reason: string | null = null;
  const drawMissing = (): void => {
    const missing = missingOf({ board_live: live, board_reason: reason, calibrated, builds });
    const key = JSON.stringify(missing);
    if (key === drawn) return;
    drawn = key;
    lacks.replaceChildren(...missing.map(missingLine));
  };
  const leave = subscribe(({ health }) => {
    live = health?.status === 'live';
    reason = health?.reason ?? null;
    shown(away, health !== null && !live);
    if (health !== null) drawMissing();
  });
  const node = h(
    'div', { class: 'calibrate' },
    h('section', { 'aria-label': 'Guided calibration' }, h('h2', {}, 'Calibrate'), away, intro, guide.node),
    kept.node,
    entered.node,
    zeros.node,
  );
  const undo = (key: string): boolean => {
    if (key !== '/' || undoes.undo === null) return false;
    undoes.undo();
    return true;
  };
  // Check masses are read anew by a calibration that takes another's place.
  const readers: Readonly<Record<string, readonly (() => Promise<unknown>)[]>> = { calibrations: [load, zeros.load], builds: [load], zeros: [zeros.load], entered: [entered.load], sheet: [entered.load] };
  const readAll = (): void => {
    for (const read of new Set(Object.values(readers).flat())) void read();
  };
  readAll();
  const ends = [
    // Kept here, by a guide, or by somebody else.
    onChannel('kept', (value) => {
      for (const read of readers[(value as { readonly route: string }).route] ?? []) void read();
    }),
    onOpened(readAll),
  ];
  // A work that goes on is shown; only where none does, the one that was asked for begins.
  void guide.look().then(() => {
    if (!isAct(rest)) return;
    // Else a reload would begin it once more.
    history.replaceState(null, '', '#/calibrate');
    if (!guide.going()) void guide.begin(rest);
  });
  return {
    node,
    key: (key) => guide.key(key) || panelKeys(kept.panel, panelKeys(zeros.panel, panelKeys(entered.panel, undo, begin.key)))(key),
    leave: () => {
      leave();
      for (const end of ends) end();
      guide.leave();
    },
  };
}

function missingLine({ says, button: words, href }: Missing): HTMLElement {
  const text = h('span');
  put(text, says);
  return h('li', {}, text, h('a', { class: 'way', href }, words));
}

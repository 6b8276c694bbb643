import { get } from '../../lib/api.js';
import { button, h, shown } from '../../lib/dom.js';
import { firstVisit, missingOf } from '../../lib/missing.js';
import type { Missing } from '../../lib/missing.js';
import type { PageState } from '../../page_state.js';

export interface Lead {
  readonly node: HTMLElement;
  readonly draw: (state: PageState) => void;
  /** A key of the pad; true: it was taken. The digits are its own as long as it is open. */
  readonly key: (key: string) => boolean;
  /** Opens it, or says that there is nothing to lead to. */
  readonly open: () => boolean;
}

/** Not at every return to this screen: whoever closed it knows what is missing. */
let put_off = false;

/** At a first visit: what is missing before the bench measures, each with the one way to it. @param turned told when it opens or closes */
export function makeLead(turned: (open: boolean) => void): Lead {
  const list = h('ol');
  const later = button('', () => close());
  later.append(h('kbd', {}, '.'), ' Later');
  const node = h('section', { class: 'lead', 'aria-label': 'What is missing', hidden: true }, h('h2', {}, 'Before it measures'), list, later);
  let calibrated: readonly string[] | null = null;
  let builds: number | null = null;
  let live = false;
  let reason: string | null = null;
  let may = false;
  let decided = false;
  let missing: readonly Missing[] = [];
  let drawn = '';

  const turn = (open: boolean): void => {
    shown(node, open);
    turned(open);
  };
  const close = (): void => {
    put_off = true;
    turn(false);
  };
  const show = (): void => {
    missing = missingOf({ board_live: live, board_reason: reason, calibrated, builds });
    const key = JSON.stringify(missing);
    if (key !== drawn) {
      drawn = key;
      list.replaceChildren(...missing.map(({ says, button: words, href }, i) => h('li', {}, h('span', {}, says), h('a', { class: 'way', href }, h('kbd', {}, String(i + 1)), ` ${words}`))));
    }
    if (!node.hidden && missing.length === 0) turn(false);
    // Once, when all is known: a board that goes away while somebody works must not take the keys from under their hand.
    if (decided || calibrated === null || !may) return;
    decided = true;
    if (!put_off && firstVisit(missing)) turn(true);
  };
  const read = async (): Promise<void> => {
    const [kept, ledger] = await Promise.all([get<{ calibrations: readonly { channel: string; in_force: 0 | 1 }[] }>('/api/calibrations'), get<{ builds: readonly unknown[] }>('/api/builds')]);
    calibrated = kept.ok ? kept.value.calibrations.filter((c) => c.in_force === 1).map((c) => c.channel) : null;
    builds = ledger.ok ? ledger.value.builds.length : null;
    show();
  };
  let asked: boolean | null = null;
  return {
    node,
    draw: ({ freshness, health, access }) => {
      if (freshness !== 'live' || health === null) return;
      live = health.status === 'live';
      reason = health.reason;
      may = access?.may_change === true;
      // Another board may have other calibrations.
      if (asked !== live) void read();
      asked = live;
      show();
    },
    key: (key) => {
      if (node.hidden) return false;
      const chosen = missing[Number(key) - 1];
      if (/^\d$/.test(key) && chosen !== undefined) location.hash = chosen.href;
      else if (key === '.') close();
      else return false;
      return true;
    },
    open: () => {
      if (missing.length > 0) turn(true);
      return missing.length > 0;
    },
  };
}

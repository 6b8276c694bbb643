import { fail } from '../errors.js';
import type { Place } from '../sense/calibration/record.js';
import { markPresets } from '../store/runs/mark_presets.js';
import type { MarkRow } from '../store/runs/marks.js';
import { durationOf, momentOf } from '../store/runs/when.js';
import type { Store } from '../store/store.js';
import type { Desk } from './record_acts.js';
import { demandRigId } from './run_acts.js';

export interface MarkAct {
  /** Default: add. */
  readonly does?: 'add' | 'list' | 'name' | 'edit' | 'archive' | 'unarchive' | 'undo' | 'history';
  readonly mark?: number;
  readonly text?: string;
  /** When it was: a duration back, seconds back, or a moment. Default: when the request came. */
  readonly ago?: string;
  readonly ago_s?: number;
  readonly at?: string;
  readonly source?: 'command' | 'page';
  /** A press of the button: BOOT/TICK as the list has it, or `last`: the last one without words. */
  readonly press?: string;
  readonly run?: string;
}

export const markActs = {
  marks({ store }: Desk): unknown {
    return { simulated: store.origin === 'simulated', marks: store.marks.list(), presets: markPresets };
  },

  /** @throws NOT_KEPT, RECORD_REFUSED, WRONG_USE */
  markAct(desk: Desk, act: MarkAct): unknown {
    const { store, author } = desk;
    const { does = 'add', mark = 0, text } = act;
    switch (does) {
      case 'add':
        return { mark: store.marks.keep({ rig_id: demandRigId(store), utc_us: when(desk, act, null), text: demandText(text), source: act.source ?? 'page', author }) };
      case 'list':
        return { simulated: store.origin === 'simulated', marks: act.run === undefined ? store.marks.list() : store.marks.list(store.runs.find(act.run).run_id), presets: markPresets };
      case 'name':
        return { mark: store.marks.name(pressOf(store, act.press ?? 'last'), demandText(text), author) };
      case 'edit': {
        const moved = act.at !== undefined || act.ago !== undefined;
        if (text === undefined && !moved) throw fail('WRONG_USE', { word: 'edit', why: 'needs a text or a time' });
        const old = store.marks.get(mark);
        const did = [...(text === undefined ? [] : ['text']), ...(moved ? ['time'] : [])].join(' and ');
        return { mark: store.marks.change(mark, did, author, { ...(text === undefined ? {} : { text: demandText(text) }), ...(moved ? { utc_us: when(desk, act, old) } : {}) }) };
      }
      case 'archive':
      case 'unarchive':
        return { mark: store.marks.change(mark, does, author, { archived: does === 'archive' }) };
      case 'undo':
        return store.marks.undo(mark, author);
      case 'history':
        return { mark: store.marks.get(mark), history: store.marks.history(mark) };
    }
  },
};

/** +20s and -20s are from where an old mark stands. */
function when(desk: Desk, { ago, ago_s, at }: MarkAct, old: MarkRow | null): number {
  const now_us = desk.now_us();
  const from_us = old?.utc_us ?? now_us;
  const back_us = (ago === undefined ? 0 : durationOf(ago)) + (ago_s ?? 0) * 1e6;
  const utc_us = at === undefined ? now_us - back_us : momentOf(at, { now_us, from_us, to_us: from_us });
  if (utc_us > now_us + 1e6) throw fail('RECORD_REFUSED', { reason: `${new Date(utc_us / 1000).toISOString()} is still to come` });
  return utc_us;
}

function demandText(text: string | undefined): string {
  if (text === undefined || text.trim() === '') throw fail('WRONG_USE', { word: 'mark', why: 'needs a text, such as "bled jacket"' });
  return text.trim();
}

function pressOf(store: Store, word: string): Place {
  const match = /^(\d+)\/(\d+)$/.exec(word);
  const place = match === null ? (word === 'last' ? store.marks.lastPress() : undefined) : { boot_id: Number(match[1]), tick: Number(match[2]) };
  if (place === undefined) throw fail('WRONG_USE', { word, why: 'must be last, or BOOT/TICK as mark list has it' });
  if (place === null) throw fail('RECORD_REFUSED', { reason: 'every press of the button has its words already' });
  return place;
}

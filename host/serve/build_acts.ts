import { fail } from '../errors.js';
import type { Place } from '../sense/calibration/record.js';
import type { PartTold } from '../store/ledger/builds.js';
import { changeWarning, differences, partsChanged } from '../store/ledger/diff.js';
import { momentOf } from '../store/runs/when.js';
import type { Store } from '../store/store.js';
import type { Desk } from './record_acts.js';

export interface BuildAct {
  readonly does: 'add' | 'show' | 'diff' | 'part' | 'remove' | 'use' | 'uses' | 'unuse' | 'counters' | 'edit' | 'archive' | 'unarchive' | 'undo' | 'history';
  readonly build?: string;
  readonly other?: string;
  readonly name?: string;
  readonly note?: string;
  /** Whose parts it has; default: those of the build in use, else of the one added last. `none`: an empty list. */
  readonly like?: string;
  readonly part?: string;
  readonly told?: PartTold & { readonly piece?: 'same' | 'new' };
  /** From when it is in use: a moment, `now` (the default), or `first`: from the beginning of the record. */
  readonly from?: string;
  readonly use_id?: number;
  readonly remark?: string;
}

/** A stretch of ten minutes takes some 0.1 s: a request counts at most these, and what is left is counted as recording goes on. */
const COUNT_AT_ONCE = 5;

export const buildActs = {
  builds({ store }: Desk): unknown {
    return { simulated: store.origin === 'simulated', builds: store.builds.list() };
  },

  /** @throws NOT_KEPT, RECORD_REFUSED, ALREADY_RETIRED, WRONG_USE */
  buildAct(desk: Desk, act: BuildAct): unknown {
    const { store, author } = desk;
    const { builds } = store;
    if (act.does === 'add') {
      const like = act.like === 'none' ? null : act.like === undefined ? (builds.current() ?? builds.list().at(-1) ?? null) : builds.find(act.like);
      return { build: builds.add(act.name ?? '', like?.build_id ?? null, act.note ?? '', author), warning: null };
    }
    if (act.does === 'uses') return { uses: builds.uses() };
    if (act.does === 'unuse') {
      builds.retireUse(act.use_id ?? 0, act.remark ?? '');
      return { current: builds.current() };
    }
    if (act.does === 'counters') {
      const complete = store.wear.count(COUNT_AT_ONCE);
      store.wear.sum();
      return { simulated: store.origin === 'simulated', complete, counters: builds.counters() };
    }
    const build = builds.find(act.build ?? '');
    const { build_id } = build;
    switch (act.does) {
      case 'show': {
        const parts = builds.parts(build_id);
        const counters = builds.counters();
        return { build, parts: parts.map((p) => ({ ...p, ...pick(counters.find((c) => c.part_id === p.part_id)) })), changes: changesOf(store, build.copied_from, build.name) };
      }
      case 'diff':
        return changesOf(store, build.name, builds.find(act.other ?? '').name);
      case 'part':
        return { part: builds.setPart(build_id, demandPart(act.part), act.told ?? {}, author), warning: warnings(store, build.name) };
      case 'remove':
        builds.removePart(build_id, demandPart(act.part), author);
        return { build: builds.get(build_id), warning: warnings(store, build.name) };
      case 'use':
        return { use: builds.use(build_id, placeOf(desk, act.from ?? 'now'), author, act.remark ?? ''), current: builds.current(), warning: warnings(store, build.name) };
      case 'edit':
        return { build: builds.change(build_id, [act.name === undefined ? [] : ['name'], act.note === undefined ? [] : ['note']].flat().join(' and '), author, () => ({ ...(act.name === undefined ? {} : { name: act.name }), ...(act.note === undefined ? {} : { note: act.note }) })) };
      case 'archive':
      case 'unarchive':
        return { build: builds.change(build_id, act.does, author, () => ({ archived: act.does === 'archive' })) };
      case 'undo':
        return builds.undo(build_id, author);
      case 'history':
        return { build, history: builds.history(build_id) };
    }
  },
};

const pick = (c: { readonly revolutions: number; readonly turning_h: number; readonly heat_cycles: number } | undefined): object => ({ revolutions: c?.revolutions ?? 0, turning_h: c?.turning_h ?? 0, heat_cycles: c?.heat_cycles ?? 0 });

function changesOf(store: Store, before: string | null, after: string): unknown {
  if (before === null) return { before, after, differences: [], parts_changed: 0, warning: null };
  const parts = (name: string): ReturnType<Store['builds']['parts']> => store.builds.parts(store.builds.find(name).build_id);
  const all = differences(parts(before), parts(after));
  return { before, after, differences: all, parts_changed: partsChanged(all), warning: changeWarning(all) };
}

/** What should be known after a change of a build; null: nothing. */
function warnings(store: Store, name: string): string | null {
  const build = store.builds.find(name);
  const from = build.copied_from;
  const changed = from === null ? null : changeWarning(differences(store.builds.parts(store.builds.find(from).build_id), store.builds.parts(build.build_id)));
  const told = [
    ...(changed === null ? [] : [`against ${from ?? ''} ${changed}`]),
    ...(build.runs === 0 ? [] : [`${build.runs} runs were made on ${name}: what is told now holds for them as well; for a changed engine add a build`]),
  ];
  return told.length === 0 ? null : told.join('. ');
}

function demandPart(part: string | undefined): string {
  if (part === undefined || part.trim() === '') throw fail('WRONG_USE', { word: 'part', why: 'needs a name, such as displacer' });
  return part.trim();
}

function placeOf({ store, now_us }: Desk, from: string): Place | null {
  const rig = store.read.newestRig();
  if (from === 'first' || rig === null) return null;
  const now = now_us();
  const reach = store.recordReach(rig.rig_id);
  return store.placeAtOrBefore(rig.rig_id, momentOf(from, { now_us: now, from_us: reach?.from_us ?? now, to_us: reach?.to_us ?? now }));
}

import { fail } from '../errors.js';
import { verified } from '../sense/load/check.js';
import type { RunRow, RunState } from '../store/runs/runs.js';
import type { ClosedSpan, RunSpan } from '../store/runs/spans.js';
import { durationOf, momentOf } from '../store/runs/when.js';
import type { Frame } from '../store/runs/when.js';
import type { Store } from '../store/store.js';
import type { Desk } from './record_acts.js';

export interface RunAct {
  readonly does: 'start' | 'end' | 'keep' | 'show' | 'edit' | 'exclude' | 'include' | 'archive' | 'unarchive' | 'undo' | 'history';
  readonly run?: string;
  readonly name?: string | null;
  readonly note?: string;
  /** A build by name or number; `none`. */
  readonly build?: string;
  /** Durations and moments as people say them. */
  readonly ago?: string;
  readonly last?: string;
  readonly from?: string;
  readonly to?: string;
  readonly reason?: string;
  readonly exclusion?: number;
}

/** A run with what it lacks for being verified, in words. */
export type ToldRun = RunRow & { readonly lacks: readonly string[] };

export function toldRun(row: RunRow): ToldRun {
  const check = row.check_passed === null ? null : { passed: row.check_passed === 1, apart_h: 0 };
  const { lacks } = verified({ zeros_enclose: row.zeros_enclose === 1, check });
  return { ...row, lacks: row.why === 'no_calibration' ? ['a calibration of the load cell', ...lacks] : lacks };
}

export const runActs = {
  runs({ store }: Desk): unknown {
    goOn(store);
    return { simulated: store.origin === 'simulated', runs: store.runs.list().map(toldRun) };
  },

  /** @throws NOT_KEPT, RECORD_REFUSED, NO_RECORD_THERE, WRONG_USE */
  runAct(desk: Desk, act: RunAct): unknown {
    const { store, author } = desk;
    goOn(store);
    if (act.does === 'start') return start(desk, act);
    if (act.does === 'end') return { run: toldRun(endOpen(desk, act.ago)) };
    if (act.does === 'keep') return { run: toldRun(keepBack(desk, act)) };
    const row = store.runs.find(act.run ?? '');
    const { run_id } = row;
    const frame: Frame = { now_us: desk.now_us(), from_us: row.from_utc_us ?? 0, to_us: row.to_utc_us ?? 0 };
    const changed = (did: string, to: (before: RunState) => Partial<RunState>): unknown => ({ run: toldRun(store.runs.change(run_id, did, author, to)) });
    switch (act.does) {
      case 'show':
        return { run: toldRun(row), ...store.runs.state(run_id), marks: store.marks.list(run_id) };
      case 'history':
        return { run: toldRun(row), history: store.runs.history(run_id) };
      case 'undo': {
        const { run, took_back } = store.runs.undo(run_id, author);
        return { run: toldRun(run), took_back };
      }
      case 'archive':
      case 'unarchive':
        return changed(act.does, () => ({ archived: act.does === 'archive' }));
      case 'edit': {
        const change: { -readonly [K in keyof RunState]?: RunState[K] } = {};
        if (act.name !== undefined && act.name !== null) change.name = act.name;
        if (act.note !== undefined) change.note = act.note;
        if (act.build !== undefined) change.build_id = buildOf(store, act.build);
        if (act.from !== undefined || act.to !== undefined) change.spans = respanned(store, row, act, frame);
        const did = Object.keys(change).map((k) => ({ build_id: 'build', spans: 'span' })[k] ?? k).join(', ');
        if (did === '') throw fail('WRONG_USE', { word: 'edit', why: 'needs a name, a note, a build, or where it begins or ends' });
        return changed(did, () => change);
      }
      case 'exclude': {
        const [from_us, to_us] = [momentOf(act.from ?? '', frame), momentOf(act.to ?? '', frame)];
        const spans = demandSpans(store, row.rig_id, from_us, to_us);
        return changed(`left out: ${act.reason ?? ''}`, ({ exclusions }) => {
          const exclusion = Math.max(0, ...exclusions.map((e) => e.exclusion)) + 1;
          return { exclusions: [...exclusions, ...spans.map((s) => ({ ...s, exclusion, reason: act.reason ?? '' }))] };
        });
      }
      case 'include':
        return changed(`took exclusion ${act.exclusion ?? 0} back`, ({ exclusions }) => {
          if (!exclusions.some((e) => e.exclusion === act.exclusion)) throw fail('NOT_KEPT', { what: 'Exclusion', id: act.exclusion ?? 0, known: exclusions.map((e) => e.exclusion).join(', ') || 'none' });
          return { exclusions: exclusions.filter((e) => e.exclusion !== act.exclusion) };
        });
    }
  },
};

export function demandRigId(store: Store): number {
  const rig = store.read.newestRig();
  if (rig === null) throw fail('RECORD_REFUSED', { reason: 'no board was ever seen in this file: start the bench with it first' });
  return rig.rig_id;
}

/** null: `none`. @throws NOT_KEPT */
function buildOf(store: Store, word: string): number | null {
  return word === 'none' ? null : store.builds.find(word).build_id;
}

/** One run goes on at a time: beginning another ends it, at the same moment. */
function start(desk: Desk, { name, build, ago, note }: RunAct): unknown {
  const { store, author } = desk;
  const rig_id = demandRigId(store);
  const at_us = desk.now_us() - (ago === undefined ? 0 : durationOf(ago));
  const [span] = demandSpans(store, rig_id, at_us, at_us);
  const place = { boot_id: span.boot_id, tick: span.tick_from };
  const build_id = build === undefined ? undefined : buildOf(store, build);
  const before = store.runs.open(rig_id);
  const ended = before === null ? null : toldRun(endOpen(desk, ago));
  const run = store.runs.keep({ rig_id, name: name ?? null, note: note ?? '', ...(build_id === undefined ? {} : { build_id }), spans: [{ boot_id: place.boot_id, tick_from: place.tick, tick_to: null }], author });
  // What is begun on a build is mounted.
  if (build_id !== undefined && build_id !== null && store.builds.at(place)?.build_id !== build_id) store.builds.use(build_id, place, author, `run ${run.name}`);
  return { run: toldRun(run), ended };
}

function endOpen(desk: Desk, ago?: string): RunRow {
  const { store, author } = desk;
  const open = store.runs.open(demandRigId(store));
  if (open === null) throw fail('RECORD_REFUSED', { reason: 'no run is going on: label what has been with runs keep 15min' });
  const at_us = desk.now_us() - (ago === undefined ? 0 : durationOf(ago));
  const from_us = open.from_utc_us ?? at_us;
  if (at_us < from_us) throw fail('RECORD_REFUSED', { reason: `${open.name} began after that` });
  const spans = demandSpans(store, open.rig_id, from_us, at_us);
  return store.runs.change(open.run_id, 'ended', author, (before) => ({ spans: sameBegin(before.spans, spans) }));
}

/** Back from now, or from the end of the record where nothing is recorded now. */
function keepBack(desk: Desk, { last, from, to, name, note, build }: RunAct): RunRow {
  const { store, author } = desk;
  const rig_id = demandRigId(store);
  const reach = store.recordReach(rig_id);
  const end_us = Math.min(desk.now_us(), reach?.to_us ?? 0);
  const frame: Frame = { now_us: desk.now_us(), from_us: reach?.from_us ?? 0, to_us: end_us };
  const [from_us, to_us] = last === undefined ? [momentOf(from ?? '', frame), to === undefined ? end_us : momentOf(to, frame)] : [end_us - durationOf(last), end_us];
  const build_id = build === undefined ? undefined : buildOf(store, build);
  return store.runs.keep({ rig_id, name: name ?? null, note: note ?? '', ...(build_id === undefined ? {} : { build_id }), spans: demandSpans(store, rig_id, from_us, to_us), author });
}

function respanned(store: Store, row: RunRow, act: RunAct, frame: Frame): RunSpan[] {
  const { spans } = store.runs.state(row.run_id);
  const from_us = act.from === undefined ? frame.from_us : momentOf(act.from, frame);
  const goesOn = row.going_on === 1 && act.to === undefined;
  const to_us = act.to === undefined ? frame.to_us : momentOf(act.to, frame);
  const next: RunSpan[] = demandSpans(store, row.rig_id, from_us, to_us);
  const begun = act.from === undefined ? sameBegin(spans, next) : next;
  const ended = act.to === undefined ? sameEnd(spans, begun) : begun;
  return goesOn ? ended.map((s, i) => (i === ended.length - 1 ? { ...s, tick_to: null } : s)) : ended;
}

/** The clock map may have become better since: an end that is not moved stays at its tick. */
function sameBegin(old: readonly RunSpan[], next: readonly RunSpan[]): RunSpan[] {
  const [first] = old;
  return next.map((s, i) => (i === 0 && first !== undefined && s.boot_id === first.boot_id && (s.tick_to ?? Infinity) >= first.tick_from ? { ...s, tick_from: first.tick_from } : s));
}
function sameEnd(old: readonly RunSpan[], next: readonly RunSpan[]): RunSpan[] {
  const last = old.at(-1);
  return next.map((s, i) => (i === next.length - 1 && last !== undefined && last.boot_id === s.boot_id && (last.tick_to ?? Infinity) >= s.tick_from ? { ...s, tick_to: last.tick_to } : s));
}

/** @throws NO_RECORD_THERE, RECORD_REFUSED for an end before the beginning */
function demandSpans(store: Store, rig_id: number, from_us: number, to_us: number): [ClosedSpan, ...ClosedSpan[]] {
  const iso = (us: number): string => new Date(us / 1000).toISOString().slice(0, 19).concat('Z');
  if (to_us < from_us) throw fail('RECORD_REFUSED', { reason: `it would end at ${iso(to_us)}, before it begins at ${iso(from_us)}` });
  const [first, ...more] = store.spansBetween(rig_id, from_us, to_us);
  if (first !== undefined) return [first, ...more];
  const reach = store.recordReach(rig_id);
  throw fail('NO_RECORD_THERE', { from: iso(from_us), to: iso(to_us), reach: reach === null ? 'nothing yet' : `${iso(reach.from_us)} to ${iso(reach.to_us)}` });
}

/** A run goes on over a reset of the board. */
export function goOn(store: Store): void {
  const rig = store.read.newestRig();
  const open = rig === null ? null : store.runs.open(rig.rig_id);
  if (rig === null || open === null) return;
  const { spans } = store.runs.state(open.run_id);
  const last = spans.at(-1);
  if (last === undefined || last.boot_id === rig.last_boot_id) return;
  const reach = store.recordReach(rig.rig_id);
  const all = store.spansBetween(rig.rig_id, open.from_utc_us ?? 0, reach?.to_us ?? 0);
  if (all.at(-1)?.boot_id !== last.boot_id) store.runs.goOn(open.run_id, sameBegin(spans, all).map((s, i) => (i === all.length - 1 ? { ...s, tick_to: null } : s)));
}

import type { Clock } from '../clock.js';
import { fail, reasonOf } from '../errors.js';
import type { Store } from '../store/store.js';
import { openAlarms, rowOf } from '../watch/kept.js';
import { changedLimits, limitNames, limitRows, limitsOf, pairOf } from '../watch/limits.js';
import type { Limits } from '../watch/limits.js';
import { ruleNames } from '../watch/rules.js';
import { Watch } from '../watch/watch.js';
import type { WatchEvent, WatchView } from '../watch/watch.js';
import { WatchEyes } from './watch_eyes.js';
import type { Watched } from './watch_eyes.js';

/** What the watch looks at and tells; null where a file alone is open. */
export interface WatchedBench {
  watched(): Watched;
  watchSays(view: WatchView): void;
}

export interface WatchDeskOptions {
  readonly store: Store;
  /** The bench's. */
  readonly clock: Clock;
  readonly bench: WatchedBench | null;
  readonly author: string;
  /** How late a message may come by no fault of the board. */
  readonly late_s?: number;
}

/** What is posted. */
export interface WatchAct {
  readonly does: 'limit' | 'acknowledge' | 'mute' | 'unmute';
  readonly limits?: Readonly<Record<string, number | null>>;
  readonly remark?: string;
  /** Of one alarm; none: all. */
  readonly name?: string;
  readonly minutes?: number;
  /** Who does it, where that is not whoever runs the program. */
  readonly by?: string;
}

/** The two levels must be told within a second, holds and the sensor's own period included. */
const LOOK_us = 200_000;
const MUTE_MAX_min = 15;
const MUTE_PRESET_min = 5;
/** Changes that wait for a disk that takes none. */
const WAITING_MAX = 1000;
const CHANGES_SHOWN = 100;

/** Looks at the bench, keeps every change in the record, and takes what people say of it. */
export class WatchDesk {
  readonly #o: WatchDeskOptions;
  readonly #watch: Watch;
  readonly #eyes: WatchEyes;
  #rig_id: number | null = null;
  #waiting: ReturnType<typeof rowOf>[] = [];
  #lost = 0;
  #shown = '';
  #cancel: () => void = () => undefined;

  constructor(options: WatchDeskOptions) {
    this.#o = options;
    const { watch } = options.store;
    this.#watch = new Watch(limitsOf(), watch.next_id(), openAlarms(watch.open()));
    this.#eyes = new WatchEyes(options.store);
    this.#readLimits();
  }

  /** Begins to look, until it is closed. */
  start(): void {
    const { bench, clock } = this.#o;
    if (bench === null) return;
    try {
      this.#look(bench);
    } catch (thrown) {
      // An error of ours: recording goes on, and nobody is to believe that somebody watches.
      const says = `The watch has failed (${reasonOf(thrown)}): watch the bench yourself, and start the program again.`;
      bench.watchSays({ ...this.view(), urgent: says, sound: { cause: 'instrument', level: 'alarm' } });
    }
    this.#cancel = clock.after(LOOK_us, () => this.start());
  }

  close(): void {
    this.#cancel();
    this.#write();
  }

  view(): WatchView {
    return this.#watch.view(this.#now.t_s);
  }

  /** All that there is to see: what stands, the limits with their history, and the last changes. */
  read(): unknown {
    const { store } = this.#o;
    // Those of a steady point are kept beside them.
    const told = this.#rig_id === null ? [] : store.watch.limits(this.#rig_id).filter(({ name }) => name in limitRows);
    return {
      simulated: store.origin === 'empty' ? null : store.origin === 'simulated',
      ...this.view(),
      limits: limitNames.map((name) => ({ name, value: this.#watch.limits[name], told: (told.findLast((t) => t.name === name)?.value ?? null) !== null, pair: pairOf(name), ...limitRows[name] })),
      history: told,
      changes: store.watch.changes(CHANGES_SHOWN),
      not_kept: this.#waiting.length + this.#lost,
    };
  }

  /** @throws WATCH_UNKNOWN, OUT_OF_RANGE, WRONG_USE, RECORD_REFUSED, FILE_READ_ONLY; nothing is changed then */
  act({ does, limits = {}, remark = '', name, minutes = MUTE_PRESET_min, by = this.#o.author }: WatchAct): unknown {
    switch (does) {
      case 'limit':
        return this.#tellLimits(limits, remark, by);
      case 'acknowledge': {
        if (name !== undefined && !ruleNames.includes(name)) throw fail('WATCH_UNKNOWN', { what: 'alarm', name, known: ruleNames.join(', ') });
        return this.#done(this.#watch.acknowledge(name ?? null, by, this.#now));
      }
      case 'mute':
        if (!(minutes >= 1 && minutes <= MUTE_MAX_min)) throw fail('OUT_OF_RANGE', { what: 'The quiet', value: minutes, unit: 'min', limit: `from 1 to ${MUTE_MAX_min}`, todo: 'an alarm is never off' });
        return this.#done(this.#watch.mute(minutes, by, this.#now));
      case 'unmute':
        return this.#done(this.#watch.mute(0, by, this.#now));
    }
  }

  #look(bench: WatchedBench): void {
    const watched = bench.watched();
    if (this.#rig_id === null && watched.boot !== null) this.#readLimits();
    const { t_s, utc_us } = this.#now;
    this.#keep(this.#watch.look(this.#eyes.seen(watched, t_s, utc_us, this.#o.late_s ?? 0)), watched);
    this.#tell();
  }

  get #now(): { readonly t_s: number; readonly utc_us: number } {
    const { clock } = this.#o;
    return { t_s: clock.monotonic_us() / 1e6, utc_us: Math.round(clock.wall_us()) };
  }

  #done(events: readonly WatchEvent[]): unknown {
    this.#keep(events, this.#o.bench?.watched() ?? null);
    this.#tell();
    return { done: events.map(({ alarm_id, name, change }) => ({ alarm_id, name, change })), ...this.view() };
  }

  #tellLimits(wishes: Readonly<Record<string, number | null>>, remark: string, author: string): unknown {
    const next: Limits = changedLimits(this.#watch.limits, wishes);
    this.#readLimits();
    const rig_id = this.#rig_id;
    if (rig_id === null) throw fail('RECORD_REFUSED', { reason: 'no board was ever seen in this file: start the bench with it first' });
    this.#o.store.watch.tellLimits(Object.entries(wishes).map(([name, value]) => ({ rig_id, name, value, author, remark })));
    this.#watch.limits = next;
    return this.read();
  }

  /** Those that the rig seen last was told. */
  #readLimits(): void {
    const { store } = this.#o;
    this.#rig_id = store.read.newestRig()?.rig_id ?? null;
    if (this.#rig_id === null) return;
    const told = new Map<string, number | null>();
    for (const { name, value } of store.watch.limits(this.#rig_id)) if (name in limitRows) told.set(name, value);
    this.#watch.limits = limitsOf(Object.fromEntries([...told].filter(([, value]) => value !== null)));
  }

  #keep(events: readonly WatchEvent[], watched: Watched | null): void {
    if (events.length > 0) {
      const boot_id = watched?.boot?.boot_id ?? null;
      const place = { boot_id, tick: boot_id === null ? null : (watched?.tick ?? null) };
      this.#waiting.push(...events.map((event) => rowOf(event, place)));
      this.#lost += Math.max(0, this.#waiting.length - WAITING_MAX);
      this.#waiting = this.#waiting.slice(-WAITING_MAX);
    }
    if (this.#waiting.length > 0) this.#write();
  }

  /** What the record does not take now waits: a full disk must not silence the watch, nor the log forget it. */
  #write(): void {
    if (this.#waiting.length === 0) return;
    try {
      this.#o.store.watch.add(this.#waiting);
      this.#waiting = [];
    } catch {
      // Tried again at the next look; the rule `record` tells why.
    }
  }

  #tell(): void {
    const view = this.view();
    const text = JSON.stringify(view);
    if (text === this.#shown) return;
    this.#shown = text;
    this.#o.bench?.watchSays(view);
  }
}

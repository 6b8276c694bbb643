import type { Clock } from '../clock.js';
import { fail, reasonOf } from '../errors.js';
import { us_per_tick } from '../link/boot_evidence.js';
import type { Boot, DatedMessage, Gap } from '../link/dated.js';
import { LivePoints } from '../reduce/points/live_points.js';
import type { LiveClock } from '../reduce/points/live_points.js';
import type { Point } from '../reduce/points/point.js';
import { demandLimits, limitNames, limitRows, settingsOf, toldLimits } from '../reduce/points/told_limits.js';
import type { LimitName } from '../reduce/points/told_limits.js';
import type { Knowledge } from '../reduce/span.js';
import type { Gate } from '../reduce/steady/gate.js';
import { plainValues } from '../reduce/values/plain.js';
import type { PlainValues } from '../reduce/values/plain.js';
import type { Store } from '../store/store.js';

/** A point as it is told: as `smallbrake points --json` has it. */
export type PlainPoint = Omit<Point, 'values'> & { readonly boot_id: number; readonly values: PlainValues };

/** As it came about here. */
export type LivePoint = PlainPoint & {
  /** Counted since the program started. */
  readonly number: number;
  /** The number of what a person took; null: the gate called it steady. */
  readonly taken: number | null;
  /** Taken back: it is a point no longer. */
  readonly retired: boolean;
};

export interface SteadyDeskOptions {
  readonly store: Store;
  /** The bench's. */
  readonly clock: Clock;
  readonly author: string;
  /** null: it cannot be judged now. */
  readonly steadySays: (gate: Gate | null) => void;
  readonly pointSays: (point: LivePoint) => void;
  readonly note: (text: string) => void;
}

/** A limit of a steady point, with what was told instead of its preset. */
export type PointLimit = { readonly name: LimitName; readonly value: number; readonly told: boolean } & { readonly [K in 'unit' | 'preset' | 'least' | 'most' | 'says']: (typeof limitRows)[LimitName][K] };

/** What is posted. */
export type PointAct =
  | { readonly does: 'limit'; readonly limits: Readonly<Record<string, number | null>>; readonly remark?: string; readonly by?: string }
  | { readonly does: 'take'; readonly reason: string; readonly by?: string } | { readonly does: 'retire'; readonly taken: number };

/** The gate counts in whole seconds. */
const LOOK_us = 1_000_000;
/** A zero or a calibration that is kept meanwhile holds for what comes at the latest so long after. */
const KNOWN_us = 10_000_000;
const POINTS_MAX = 200;

interface Running {
  readonly boot: Boot;
  readonly rig_id: number;
  readonly tick_from: number;
  readonly points: LivePoints;
  known_at_us: number;
}

/** Whether the bench stands steady now, what is still to come, and its points as they come about: by the code that reads the record. */
export class SteadyDesk {
  readonly #o: SteadyDeskOptions;
  #boot: Boot | null = null;
  #running: Running | null = null;
  #newest = 0;
  #down = true;
  #told: LivePoint[] = [];
  #number = 0;
  #shown: Gate | null = null;
  #failed = '';
  #cancel: () => void = () => undefined;

  constructor(options: SteadyDeskOptions) {
    this.#o = options;
  }

  start(): void {
    this.#cancel = this.#o.clock.after(LOOK_us, () => {
      this.#look();
      this.start();
    });
  }

  close(): void {
    this.#cancel();
  }

  boot(boot: Boot): void {
    const old = this.#running;
    this.#running = null;
    if (old !== null) this.#guarded(() => this.#tell(old, old.points.end().points));
    this.#boot = boot;
    this.#newest = 0;
    this.#down = false;
  }

  state(live: boolean): void {
    this.#down = !live;
    if (this.#down) this.#show(null);
  }

  message(dated: DatedMessage): void {
    if (dated.boot_id !== this.#boot?.boot_id) return;
    this.#newest = Math.max(this.#newest, dated.tick);
    this.#guarded(() => (this.#running ??= this.#begin(this.#boot as Boot, dated.tick)).points.message(dated));
  }

  gap(gap: Gap): void {
    if (gap.boot_id === this.#running?.boot.boot_id) this.#guarded(() => this.#running?.points.gap(gap));
  }

  /** Points since the program started that still hold, oldest first, the last POINTS_MAX of them. */
  read(): { readonly simulated: boolean; readonly gate: Gate | null; readonly points: readonly LivePoint[]; readonly limits: readonly PointLimit[] } {
    return { simulated: this.#o.store.origin === 'simulated', gate: this.#shown, points: this.#told, limits: this.#limits() };
  }

  /** @throws RECORD_REFUSED where nothing turns, BOARD_NOT_LIVE, NOT_KEPT, ALREADY_RETIRED, WRONG_USE, OUT_OF_RANGE */
  act(act: PointAct): unknown {
    const { store, author } = this.#o;
    if (act.does === 'retire') return this.#retire(act.taken);
    if (act.does === 'limit') return this.#limit(act);
    const running = this.#running;
    if (running === null || this.#down) throw fail('BOARD_NOT_LIVE', { reason: 'a point is taken of what is measured now' });
    this.#know(running);
    this.#tell(running, running.points.advance().points);
    const point = running.points.take(act.reason);
    if (point === null) throw fail('RECORD_REFUSED', { reason: 'there is no whole revolution since the last point: let the engine turn, or wait' });
    const taken = store.taken.keep({ boot_id: running.boot.boot_id, tick_from: Math.floor(point.tick_from), tick_to: Math.ceil(point.tick_to), reason: act.reason, author: act.by ?? author });
    return { taken, point: this.#say(running, point, taken.taken_id) };
  }

  #limits(): PointLimit[] {
    const told = this.#toldOf(this.#o.store.read.newestRig()?.rig_id ?? null);
    return limitNames.map((name) => {
      const { unit, preset, least, most, says } = limitRows[name];
      return { name, value: told[name] ?? preset, told: told[name] !== undefined, unit, preset, least, most, says };
    });
  }

  #toldOf(rig_id: number | null): Partial<Record<LimitName, number>> {
    return rig_id === null ? {} : toldLimits(this.#o.store.watch.limits(rig_id));
  }

  /** By other limits it is judged anew from now on; the stretch that was steady by the old ones ends. */
  #limit({ limits, remark = '', by = this.#o.author }: Extract<PointAct, { does: 'limit' }>): unknown {
    const { store } = this.#o;
    demandLimits(limits);
    const rig = store.read.newestRig();
    if (rig === null) throw fail('RECORD_REFUSED', { reason: 'no board was ever seen in this file: start the bench with it first' });
    store.watch.tellLimits(Object.entries(limits).map(([name, value]) => ({ rig_id: rig.rig_id, name, value, author: by, remark })));
    const old = this.#running;
    this.#running = null;
    if (old !== null) this.#guarded(() => this.#tell(old, old.points.end().points));
    this.#show(null);
    return this.read();
  }

  #retire(taken_id: number): unknown {
    const taken = this.#o.store.taken.retire(taken_id);
    const point = this.#told.find((p) => p.taken === taken_id);
    this.#told = this.#told.filter((p) => p !== point);
    if (point !== undefined) this.#o.pointSays({ ...point, retired: true });
    return { taken };
  }

  #begin(boot: Boot, tick: number): Running {
    const rig_id = this.#o.store.read.knownBoards().find((b) => b.board_id === boot.hello.board_id)?.rig_id ?? 0;
    const { clock, knowledge } = this.#read({ boot, rig_id, tick_from: tick }, tick);
    const { boot_id, simulated } = boot;
    return { boot, rig_id, tick_from: tick, points: new LivePoints({ boot_id, simulated, tick_from: tick }, clock, knowledge, settingsOf(this.#toldOf(rig_id))), known_at_us: this.#o.clock.monotonic_us() };
  }

  #read({ boot, rig_id, tick_from }: Pick<Running, 'boot' | 'rig_id' | 'tick_from'>, now: number): { clock: LiveClock; knowledge: Knowledge } {
    const { store } = this.#o;
    const { boot_id, hello } = boot;
    const clock = store.spans.clock(boot_id, tick_from, now, us_per_tick(hello));
    const from_utc_us = clock.from_utc_us === null ? null : clock.from_utc_us + (now - tick_from) * clock.us_per_tick;
    const knowledge = store.spans.knowledge({ boot_id, tick_from: now, tick_to: now }, { rig_id, magnets: store.magnets(hello.board_id), us_per_tick: clock.us_per_tick, from_utc_us });
    return { clock, knowledge };
  }

  #know(running: Running): void {
    const { clock, knowledge } = this.#read(running, this.#newest);
    running.points.clock = clock;
    running.points.knowledge = knowledge;
    running.known_at_us = this.#o.clock.monotonic_us();
  }

  #look(): void {
    this.#guarded(() => {
      const running = this.#running;
      if (running === null || this.#down) return;
      if (this.#o.clock.monotonic_us() - running.known_at_us >= KNOWN_us) this.#know(running);
      this.#tell(running, running.points.advance().points);
      this.#show(running.points.gate);
    });
  }

  #tell(running: Running, points: readonly Point[]): void {
    for (const point of points) this.#say(running, point, null);
  }

  #say({ boot: { boot_id } }: Running, { values, ...point }: Point, taken: number | null): LivePoint {
    const told = { boot_id, ...point, values: plainValues(values, false), number: ++this.#number, taken, retired: false };
    this.#told = [...this.#told, told].slice(-POINTS_MAX);
    this.#o.pointSays(told);
    return told;
  }

  #show(gate: Gate | null): void {
    if (gate === null && this.#shown === null) return;
    this.#shown = gate;
    this.#o.steadySays(gate);
  }

  /** An error of ours, or a damaged record, must not stop the recording: it is said once, and judging begins anew. */
  #guarded(work: () => void): void {
    try {
      work();
    } catch (thrown) {
      const reason = reasonOf(thrown);
      if (reason !== this.#failed) this.#o.note(`Whether the bench is steady cannot be judged: ${reason}`);
      this.#failed = reason;
      this.#running = null;
      this.#show(null);
    }
  }
}

import type { MessageOf } from '../../protocol/messages.js';
import type { Clock } from '../clock.js';
import { idText, us_per_tick } from '../link/boot_evidence.js';
import type { Boot, ClockMapPiece, DatedMessage, Gap } from '../link/dated.js';
import type { Gate } from '../reduce/steady/gate.js';
import { ShaftSpeed } from '../sense/speed.js';
import type { SpeedReading } from '../sense/speed.js';
import { perStream } from '../store/row_inserts.js';
import type { BatchResult } from '../store/rows.js';
import type { WatchView } from '../watch/watch.js';
import type { Store } from '../store/store.js';
import type { Bench, BoardView, BootView, Channel, Counts, Dated, ForceView, Health, Latest, LinkState, LiveEvent, Metric, SpeedView, StatusView, ValuesView, Wants } from './bench.js';
import { Fresh } from './fresh.js';
import type { GuideState } from './guide_desk.js';
import { benchMetrics, markMetrics } from './live_metrics.js';
import { LiveSensors } from './live_sensors.js';
import type { LivePoint } from './steady_desk.js';
import { LiveValues } from './live_values.js';
import type { Watched } from './watch_eyes.js';

export interface LiveOptions {
  readonly store: Store;
  /** The bench's clock, the one that the link and the writer have. */
  readonly clock: Clock;
  readonly version: string;
  /** How late a message may come by no fault of the board, beside what any line takes. */
  readonly late_us?: number;
  /** What the link counts. */
  readonly linkMetrics?: () => readonly Metric[];
}

/** How often it is looked whether something has stopped coming. */
const LOOK_us = 100_000;
/** How often values in SI are worked out at most, for all who ask. */
const VALUES_us = 450_000;
/** A force or a status older than this is not what is measured now. */
const FORCE_STALE_us = 1_000_000;
const STATUS_STALE_us = 3_000_000;
/**
 * What the board has said may be under way for this long (a USB adapter alone keeps
 * bytes for 16 ms): an edge is not overdue before it could have been here.
 */
const UNDER_WAY_us = 50_000;

/**
 * The live reader of the road: takes what the writer takes, at the same moment, and
 * knows what the bench measures now. What it calls recorded it was told of after
 * its commit. Its methods are the link's events by name.
 */
export class LiveBench implements Bench {
  readonly #options: LiveOptions;
  readonly #listeners = new Map<(event: LiveEvent) => void, Wants>();
  readonly #started_us: number;
  #rows: Counts['rows'];
  #simulated: boolean | null;
  #link: { readonly status: LinkState; readonly reason: string | null } = { status: 'closed', reason: 'the link has not been started' };
  #boot: Boot | null = null;
  #piece: ClockMapPiece | null = null;
  #speed: ShaftSpeed | null = null;
  /** The newest board tick and when it came, to know the board's time between messages. */
  #newest = { tick: 0, at_us: 0 };
  readonly #force = new Fresh<ForceView>();
  readonly #status = new Fresh<StatusView>();
  #sensors: LiveSensors | null = null;
  #values: LiveValues | null = null;
  #shownValues: { readonly view: ValuesView | null; readonly at_us: number } = { view: null, at_us: -Infinity };
  #shownSpeed: SpeedView | null = null;
  #watch: WatchView | null = null;
  #steady: Gate | null = null;
  #cancelLook: (() => void) | null = null;

  constructor(options: LiveOptions) {
    this.#options = options;
    this.#started_us = options.clock.monotonic_us();
    const counts = options.store.read.counts();
    this.#rows = perStream((stream) => counts[stream].rows);
    this.#simulated = options.store.origin === 'empty' ? null : options.store.origin === 'simulated';
  }

  boot(boot: Boot): void {
    this.#forget();
    this.#boot = boot;
    this.#simulated = boot.simulated;
    this.#piece = null;
    this.#speed = new ShaftSpeed(this.#options.store.magnets(boot.hello.board_id), us_per_tick(boot.hello));
    this.#sensors = new LiveSensors(us_per_tick(boot.hello));
    this.#values = new LiveValues(this.#options.store, boot);
    this.#newest = { tick: 0, at_us: 0 };
    this.#tellState();
  }

  state(status: LinkState, reason: string | null): void {
    this.#link = { status, reason: status === 'live' ? null : reason };
    if (status === 'live') this.#look();
    else this.#forget();
    this.#tellState();
  }

  message(dated: DatedMessage): void {
    const { boot_id, tick, message } = dated;
    if (boot_id !== this.#boot?.boot_id) return;
    const at_us = this.#options.clock.monotonic_us();
    if (tick >= this.#newest.tick) this.#newest = { tick, at_us };
    this.#values?.message(dated);
    if (message.name === 'force') {
      const { count, flags } = message;
      const view = { ...this.#dated(boot_id, tick), count: flags === 0 ? count : null, flags };
      this.#tell({ channel: 'force', value: this.#force.take(view, at_us, FORCE_STALE_us) });
    } else if (message.name === 'edge') {
      this.#speed?.edge(tick);
      this.#tellSpeed();
    } else if (message.name === 'status') {
      const view = { ...this.#dated(boot_id, tick), fields: fieldsOf(message) };
      this.#tell({ channel: 'status', value: this.#status.take(view, at_us, STATUS_STALE_us) });
    } else {
      const event = this.#sensors?.message(dated, this.#dated(boot_id, tick), at_us) ?? null;
      if (event?.channel === 'flow' && event.value !== null) this.#values?.flow(tick, event.value);
      if (event !== null) this.#tell(event);
    }
  }

  gap(gap: Gap): void {
    if (gap.boot_id !== this.#boot?.boot_id || gap.stream !== 'edge') return;
    this.#speed?.hole();
    this.#values?.hole();
  }

  clockMap(piece: ClockMapPiece): void {
    if (piece.boot_id !== this.#boot?.boot_id) return;
    this.#piece = piece;
    if (this.#speed !== null) this.#speed.us_per_tick = piece.us_per_tick;
    if (this.#sensors !== null) this.#sensors.us_per_tick = piece.us_per_tick;
    this.#values?.clockMap(piece);
  }

  /** The writer's onCommitted. */
  committed(batch: Readonly<BatchResult>): void {
    this.#rows = perStream((stream) => this.#rows[stream] + batch.rows[stream]);
    this.#tell({ channel: 'recorded', value: this.#rows });
  }

  /** The writer's onState. */
  recordChanged(): void {
    this.#tellState();
  }

  /** The number of magnets was changed. */
  magnetsChanged(): void {
    if (this.#boot === null) return;
    const { hello } = this.#boot;
    this.#speed = new ShaftSpeed(this.#options.store.magnets(hello.board_id), this.#piece?.us_per_tick ?? us_per_tick(hello));
    this.#values?.forget();
  }

  health(): Health {
    const { state, reason, waiting_rows, lost_rows, free_bytes } = this.#options.store.writer.state;
    return {
      ...this.#link,
      simulated: this.#simulated,
      board: this.#link.status === 'live' ? this.#board() : null,
      record: { state, reason, waiting_rows, lost_rows, free_bytes },
      db: this.#options.store.path,
      uptime_s: (this.#options.clock.monotonic_us() - this.#started_us) / 1e6,
      version: this.#options.version,
    };
  }

  latest(): Latest {
    const now_us = this.#options.clock.monotonic_us();
    return {
      force: this.#force.at(now_us),
      speed: this.#speedNow(),
      ...(this.#sensors?.latest(now_us) ?? { hot: null, water: null, flow: null, mark: null, setting: null }),
      status: this.#status.at(now_us),
      values: this.#valuesNow(),
      watch: this.#watch,
      steady: this.#steady,
    };
  }

  /** For the watch: as it was said, at little cost. */
  watched(): Watched {
    const now_us = this.#options.clock.monotonic_us();
    const live = this.#link.status === 'live';
    const { hot, water, flow } = this.#sensors?.latest(now_us) ?? { hot: null, water: null, flow: null };
    return {
      down: live ? null : (this.#link.reason ?? 'no board is live'),
      boot: this.#boot,
      tick: this.#newest.tick,
      silent_us: this.#newest.at_us === 0 ? null : now_us - this.#newest.at_us,
      force: this.#force.at(now_us),
      hot,
      hotStuck: () => this.#values?.hotStuck() ?? null,
      water,
      flow,
      // As of the newest message, not of now: where messages come late, an edge is late with them.
      shaft: live ? (this.#speed?.at(this.#newest.tick) ?? null) : null,
      values: () => this.#valuesNow(),
      record: this.health().record,
    };
  }

  /** What the watch says from now on. */
  watchSays(view: WatchView): void {
    this.#watch = view;
    this.#tell({ channel: 'watch', value: view });
  }

  /** Whether the bench stands steady, from now on. */
  steadySays(gate: Gate | null): void {
    this.#steady = gate;
    this.#tell({ channel: 'steady', value: gate });
  }

  /** A point has come about. */
  pointSays(point: LivePoint): void {
    this.#tell({ channel: 'point', value: point });
  }

  /** Something was kept through this route. */
  keptSays(route: string): void {
    this.#tell({ channel: 'kept', value: { route } });
  }

  /** What the guided work asks for now. */
  guideSays(value: GuideState): void {
    this.#tell({ channel: 'guide', value });
  }

  counts(): Counts {
    const duplicates = Object.values(this.#options.store.read.counts()).reduce((sum, c) => sum + c.duplicates, 0);
    return { rows: this.#rows, duplicates, lost: this.#options.store.read.lost() };
  }

  boots(limit: number): BootView[] {
    return this.#options.store.read.boots(limit).map((b) => ({ ...b, simulated: b.simulated === 1 }));
  }

  metrics(): readonly Metric[] {
    const marks = this.#speed === null ? [] : markMetrics(this.#speed.marks);
    return [...benchMetrics(this, this.#options.store), ...marks, ...(this.#options.linkMetrics?.() ?? [])];
  }

  subscribe(listener: (event: LiveEvent) => void, wants: Wants = () => true): () => void {
    this.#listeners.set(listener, wants);
    return () => this.#listeners.delete(listener);
  }

  close(): void {
    this.#cancelLook?.();
    this.#cancelLook = null;
    this.#listeners.clear();
  }

  #tell(event: LiveEvent): void {
    for (const [listener, wants] of this.#listeners) if (wants(event.channel)) listener(event);
  }

  #wanted(channel: Channel): boolean {
    for (const wants of this.#listeners.values()) if (wants(channel)) return true;
    return false;
  }

  #tellState(): void {
    if (this.#wanted('state')) this.#tell({ channel: 'state', value: this.health() });
  }

  #tellSpeed(): void {
    // At every edge: with nobody there to tell, it is not worked out.
    if (!this.#wanted('speed')) return;
    const now = this.#speedNow();
    if (now === null && this.#shownSpeed === null) return;
    this.#shownSpeed = now;
    this.#tell({ channel: 'speed', value: now });
  }

  /** The link is down or the board another: nothing is measured until it is measured again. */
  #forget(): void {
    this.#cancelLook?.();
    this.#cancelLook = null;
    this.#speed?.hole();
    this.#values?.forget();
    this.#tellValues(null);
    this.#tellSpeed();
    if (this.#force.forget()) this.#tell({ channel: 'force', value: null });
    if (this.#status.forget()) this.#tell({ channel: 'status', value: null });
    for (const event of this.#sensors?.forget() ?? []) this.#tell(event);
  }

  /** Nothing tells that an edge or a conversion did not come: that must be looked for. */
  #look(): void {
    this.#cancelLook?.();
    const now_us = this.#options.clock.monotonic_us();
    if (this.#force.expire(now_us)) this.#tell({ channel: 'force', value: null });
    if (this.#status.expire(now_us)) this.#tell({ channel: 'status', value: null });
    for (const event of this.#sensors?.expired(now_us) ?? []) this.#tell(event);
    const { state } = this.#speedNow() ?? { state: null };
    if (state !== (this.#shownSpeed?.state ?? null) || state === 'slowing') this.#tellSpeed();
    if (this.#wanted('values') && now_us - this.#shownValues.at_us >= VALUES_us) this.#tellValues(this.#valuesNow());
    this.#cancelLook = this.#options.clock.after(LOOK_us, () => this.#look());
  }

  #shaftNow(): SpeedReading | null {
    if (this.#speed === null || this.#boot === null || this.#link.status !== 'live') return null;
    const elapsed_us = this.#options.clock.monotonic_us() - this.#newest.at_us - UNDER_WAY_us - (this.#options.late_us ?? 0);
    const rate = this.#piece?.us_per_tick ?? us_per_tick(this.#boot.hello);
    return this.#speed.at(this.#newest.tick + Math.max(0, elapsed_us) / rate);
  }

  #speedNow(): SpeedView | null {
    const shaft = this.#shaftNow();
    if (shaft === null || this.#boot === null) return null;
    const { state, speed_rpm, period_s, tick } = shaft;
    if (state === 'not_measured' || speed_rpm === null || tick === null) return null;
    return { ...this.#dated(this.#boot.boot_id, tick), state, speed_rpm, period_s };
  }

  /** Worked out at most every VALUES_us, and only when somebody asks. */
  #valuesNow(): ValuesView | null {
    const shaft = this.#shaftNow();
    if (shaft === null || this.#boot === null || this.#values === null) return null;
    const now_us = this.#options.clock.monotonic_us();
    if (this.#shownValues.view !== null && now_us - this.#shownValues.at_us < VALUES_us) return this.#shownValues.view;
    const dated = this.#dated(this.#boot.boot_id, this.#newest.tick);
    const { hot, water, flow } = this.#sensors?.latest(now_us) ?? { hot: null, water: null, flow: null };
    const fresh = { hot: hot !== null, water: water !== null, flow: flow !== null };
    const view = this.#values.at({ dated, utc_us: dated.utc_us ?? this.#options.clock.wall_us(), shaft, fresh });
    this.#shownValues = { view, at_us: now_us };
    return view;
  }

  #tellValues(view: ValuesView | null): void {
    if (view === null && this.#shownValues.view === null) return;
    if (view === null) this.#shownValues = { view: null, at_us: -Infinity };
    this.#tell({ channel: 'values', value: view });
  }

  #dated(boot_id: number, tick: number): Dated {
    const p = this.#piece;
    if (p === null) return { boot_id, tick, utc_us: null, u_us: null };
    return { boot_id, tick, utc_us: Math.round(p.utc_us + (tick - p.tick_from) * p.us_per_tick), u_us: p.u_us };
  }

  #board(): BoardView | null {
    if (this.#boot === null) return null;
    const { boot_id, hello } = this.#boot;
    const { firmware: f, clock_Hz, board_id, boot_count } = hello;
    return { id: idText(board_id), boot_id, board_boot: boot_count, firmware: `${f >> 16}.${(f >> 8) & 255}.${f & 255}`, clock_Hz };
  }
}

/** All but what every message has. */
function fieldsOf(message: MessageOf<'status'>): Readonly<Record<string, number>> {
  const own = Object.entries(message).filter((entry): entry is [string, number] => typeof entry[1] === 'number');
  return Object.fromEntries(own.filter(([key]) => key !== 'seq' && key !== 'tick'));
}

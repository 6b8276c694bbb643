import type { Clock } from '../clock.js';
import type { BoardMessage, MessageOf } from '../../protocol/messages.js';
import { fullTick, judgeBoot, us_per_tick } from './boot_evidence.js';
import { ClockMap, storedPiece } from './clock_map.js';
import type { MapPiece } from './clock_map.js';
import type { Boot, ClockMapPiece, DatedMessage, Gap } from './dated.js';
import { Dater } from './dater.js';
import { WallAnchor } from './wall_anchor.js';

type Hello = MessageOf<'hello'>;

/** What the store is handed to issue a boot_id for. */
export interface BootEvidence {
  readonly hello: Hello;
  /** Board tick of the hello, wraps added. */
  readonly tick: number;
  readonly received_us: number;
  readonly wall_us: number;
  readonly port: string;
  readonly simulated: boolean;
}

export interface BootSink {
  boot(boot: Boot): void;
  message(dated: DatedMessage): void;
  gap(gap: Gap): void;
  clockMap(piece: ClockMapPiece): void;
}

export interface DatingCounts {
  dated: number;
  duplicates: number;
  /** Messages that fitted no boot and were left out. */
  undated: number;
  gaps: number;
  lost: number;
  boots: number;
  exchanges: number;
  /** Answers whose ticks cannot be those of the question. */
  exchanges_refused: number;
}

/**
 * The present boot, kept over any number of reconnects: decides whether a hello
 * belongs to it, dates what follows, and keeps its clock map.
 */
export class BootKeeper {
  readonly counts: DatingCounts = { dated: 0, duplicates: 0, undated: 0, gaps: 0, lost: 0, boots: 0, exchanges: 0, exchanges_refused: 0 };
  readonly #clock: Clock;
  readonly #sink: BootSink;
  readonly #bootFor: (evidence: BootEvidence) => number;
  readonly #anchor = new WallAnchor();
  #dater: Dater | null = null;
  #map: ClockMap | null = null;
  #stored: ClockMapPiece | null = null;
  #storedOffset_us = 0;
  #staleHellos = 0;

  constructor(clock: Clock, sink: BootSink, bootFor: (evidence: BootEvidence) => number) {
    this.#clock = clock;
    this.#sink = sink;
    this.#bootFor = bootFor;
  }

  get map(): ClockMap | null {
    return this.#map;
  }

  /** The present boot, or null before the first. */
  get boot_id(): number | null {
    return this.#dater?.boot_id ?? null;
  }

  /** How often the host's wall clock was stepped. */
  get wallSteps(): number {
    return this.#anchor.steps;
  }

  /**
   * @returns 'stale': the hello may have lain in a buffer, ask once more before it is believed
   * @throws what bootFor throws: the record does not take this board
   */
  hello(hello: Hello, received_us: number, port: string, simulated: boolean): 'live' | 'stale' {
    const verdict = this.#dater === null ? 'new' : judgeBoot(this.#dater.soFar, hello, received_us);
    if (verdict === 'stale' && this.#staleHellos === 0) {
      this.#staleHellos++;
      return 'stale';
    }
    this.#staleHellos = 0;
    this.#readWall();
    const known = this.#dater;
    if (known !== null && verdict === 'same') this.#emit(known.boot_id, known.hello(hello, received_us), hello);
    else this.#begin(hello, received_us, port, simulated);
    return 'live';
  }

  #begin(hello: Hello, received_us: number, port: string, simulated: boolean): void {
    const tick = fullTick(hello.tick, hello.wraps);
    const boot_id = this.#bootFor({ hello, tick, received_us, wall_us: received_us + this.#anchor.offset_us, port, simulated });
    this.counts.boots++;
    this.#dater = new Dater(boot_id, hello, received_us);
    this.#map = new ClockMap(boot_id, us_per_tick(hello), { tick, received_us });
    this.#sink.boot({ boot_id, hello, simulated });
    this.#store(this.#map.latest);
    this.#emit(boot_id, tick, hello);
  }

  /** @returns 'doubt': it does not fit the present boot, ask the board who it is */
  take(message: Exclude<BoardMessage, Hello>, received_us: number): 'taken' | 'doubt' {
    if (this.#dater === null) return 'doubt';
    const dating = this.#dater.date(message, received_us);
    if (dating.kind === 'doubt') {
      this.counts.undated++;
      return 'doubt';
    }
    if (dating.kind === 'duplicate') {
      this.counts.duplicates++;
      return 'taken';
    }
    if (dating.gap !== null) {
      this.counts.gaps++;
      this.counts.lost += dating.gap.lost;
      this.#sink.gap(dating.gap);
    }
    this.#emit(this.#dater.boot_id, dating.tick, message);
    return 'taken';
  }

  /** An answer to the question sent at sent_us; `take` has dated it already. */
  exchange(answer: MessageOf<'time'>, sent_us: number, received_us: number): void {
    if (this.#dater === null || this.#map === null) return;
    const tick_out = this.#dater.extend(answer.tick_out);
    const before = this.#map.exchanges;
    const piece = this.#map.exchange({ sent_us, received_us, tick_in: this.#dater.extend(answer.tick_in), tick_out });
    if (this.#map.exchanges > before) this.counts.exchanges++;
    else this.counts.exchanges_refused++;
    const stepped = this.#readWall();
    if (piece !== null) this.#store(piece);
    else if (stepped || this.#utcMoved()) {
      const again = this.#map.again(tick_out);
      if (again !== null) this.#store(again);
    }
  }

  #utcMoved(): boolean {
    return this.#stored !== null && Math.abs(this.#anchor.offset_us - this.#storedOffset_us) > this.#stored.u_us / 2;
  }

  #readWall(): boolean {
    const before_us = this.#clock.monotonic_us();
    const wall_us = this.#clock.wall_us();
    return this.#anchor.read(before_us, wall_us, this.#clock.monotonic_us());
  }

  #store(piece: MapPiece): void {
    const boot_id = this.#dater?.boot_id;
    if (boot_id === undefined) return;
    this.#stored = storedPiece(boot_id, piece, this.#anchor);
    this.#storedOffset_us = this.#anchor.offset_us;
    this.#sink.clockMap(this.#stored);
  }

  #emit(boot_id: number, tick: number, message: BoardMessage): void {
    this.counts.dated++;
    this.#sink.message({ boot_id, tick, message });
  }
}

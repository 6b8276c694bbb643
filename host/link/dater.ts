import { messages } from '../../protocol/messages.js';
import type { BoardMessage, MessageOf } from '../../protocol/messages.js';
import { fullTick, us_per_tick } from './boot_evidence.js';
import type { BootSoFar } from './boot_evidence.js';
import type { Gap } from './dated.js';

type Hello = MessageOf<'hello'>;
type Stream = Gap['stream'];
type Streamed = Exclude<BoardMessage, Hello>;

export type Dating =
  | { readonly kind: 'dated'; readonly tick: number; readonly gap: Gap | null }
  /** The line that came last came again. */
  | { readonly kind: 'duplicate' }
  /**
   * Does not fit this boot: the board was probably reset and its hello lost. Not to
   * be kept under this boot; ask who it is.
   */
  | { readonly kind: 'doubt'; readonly why: 'backwards' | 'ahead' | 'sequence' | 'wraps' | 'unsure' };

/** Streams overtake each other by the board's queues, and reach the host late by its own. */
const DISORDER_us = 3e6;
const RATE_ERROR_MAX = 5500e-6;
/** A hole of more than this many times what the stream may carry is no hole but another count. */
const HOLE_RATE_MAX = 10;
const HOLE_FREE = 100;
/** A hole this long or shorter still says what the stream's own rate is. */
const MEASURED_OVER = 8;

interface StreamState {
  seq: number;
  tick: number;
  /** Ticks from one sequence number to the next, smoothed; 0: not yet known. */
  period: number;
  /** Ticks since the last message during which no line of the board was heard at all. */
  away: number;
}

const rateMax_Hz = new Map<string, number>(messages.map((d) => [d.name, d.rate_max_Hz]));

/**
 * Gives each message of one boot its board tick with the wraps added, and counts
 * what is missing between it and the one before it in its stream. Lives as long as
 * the boot, over any number of reconnects. Pure: host times are handed in.
 */
export class Dater {
  readonly boot_id: number;
  readonly #tick_us: number;
  readonly #streams = new Map<Stream, StreamState>();
  readonly #doubtful = new Set<Stream>();
  #hello: Hello;
  #newest: number;
  #newest_us: number;

  constructor(boot_id: number, hello: Hello, received_us: number) {
    this.boot_id = boot_id;
    this.#tick_us = us_per_tick(hello);
    this.#hello = hello;
    this.#newest = fullTick(hello.tick, hello.wraps);
    this.#newest_us = received_us;
  }

  get soFar(): BootSoFar {
    return { hello: this.#hello, tick: this.#newest, seen_us: this.#newest_us };
  }

  /** A hello of the same boot: the wraps are certain again, and a doubted stream starts afresh. @returns its tick */
  hello(hello: Hello, received_us: number): number {
    const tick = fullTick(hello.tick, hello.wraps);
    for (const state of this.#streams.values()) state.away += Math.max(0, tick - this.#newest);
    this.#hello = hello;
    this.#newest = tick;
    this.#newest_us = received_us;
    for (const stream of this.#doubtful) this.#streams.delete(stream);
    this.#doubtful.clear();
    return this.#newest;
  }

  date(message: Streamed, received_us: number): Dating {
    // Once it is in doubt whose messages these are, none is taken before a hello says it:
    // a board that was reset soon passes the tick that the old boot had come to, and
    // would fit it again.
    if (this.#doubtful.size > 0) return { kind: 'doubt', why: 'unsure' };
    const tick = this.extend(message.name === 'time' ? message.tick_out : message.tick);
    const dating = this.#judge(message, tick, received_us);
    if (dating.kind === 'doubt') this.#doubtful.add(message.name);
    if (dating.kind === 'dated' && tick > this.#newest) {
      this.#newest = tick;
      this.#newest_us = received_us;
    }
    return dating;
  }

  /** The full tick nearest to the newest one that ends in these 32 bits. */
  extend(low32: number): number {
    // `| 0` takes a number modulo 2^32 by itself; `%` on numbers of more than 31 bits is a call.
    return this.#newest + ((low32 - (this.#newest | 0)) | 0);
  }

  #judge(message: Streamed, tick: number, received_us: number): Dating {
    const ahead_us = (tick - this.#newest) * this.#tick_us;
    const elapsed_us = received_us - this.#newest_us;
    if (tick < 0 || ahead_us < -DISORDER_us) return { kind: 'doubt', why: 'backwards' };
    if (ahead_us > elapsed_us * (1 + RATE_ERROR_MAX) + DISORDER_us) return { kind: 'doubt', why: 'ahead' };
    // Sixteen bits of wraps last 4.4 years.
    if (message.name === 'status' && Math.floor(tick / 2 ** 32) % 65536 !== message.wraps) return { kind: 'doubt', why: 'wraps' };

    const last = this.#streams.get(message.name);
    if (last === undefined) {
      this.#streams.set(message.name, { seq: message.seq, tick, period: 0, away: 0 });
      return { kind: 'dated', tick, gap: null };
    }
    const ticks = tick - last.tick;
    const step = (message.seq - last.seq) & 0xffff;
    if (ticks === 0 && step === 0) return { kind: 'duplicate' };
    if (ticks <= 0) return { kind: 'doubt', why: 'backwards' };
    const steps = this.#steps(message.name, step, ticks, last);
    if (steps === null) return { kind: 'doubt', why: 'sequence' };

    const gap: Gap | null =
      steps === 1 ? null : { boot_id: this.boot_id, stream: message.name, tick_from: last.tick, tick_to: tick, lost: steps - 1 };
    if (steps <= MEASURED_OVER) last.period += (ticks / steps - last.period) / (last.period === 0 ? 1 : 8);
    last.away = 0;
    last.seq = message.seq;
    last.tick = tick;
    return { kind: 'dated', tick, gap };
  }

  /**
   * How many messages the board counted between two. The sequence numbers tell it
   * modulo 65536; which multiple is nearest, the stream's rate over the time that
   * nobody listened (a shaft that stood still while somebody did lost nothing).
   * null: more than the stream can carry in that time, or none at all.
   */
  #steps(stream: Stream, step: number, ticks: number, last: StreamState): number | null {
    // All but a few messages: the next number, and nobody was away.
    if (step === 1 && last.away === 0) return 1;
    const rate_Hz = rateMax_Hz.get(stream) ?? 0;
    const period = last.period > 0 ? last.period : 1e6 / this.#tick_us / rate_Hz;
    // Answers are counted only when a question comes: their number does not grow while nobody asks.
    const missed = stream === 'time' ? 0 : last.away / period;
    const steps = step + 65536 * Math.max(0, Math.round((missed - step) / 65536));
    if (steps === 0 || steps > ((ticks * this.#tick_us) / 1e6) * rate_Hz * HOLE_RATE_MAX + HOLE_FREE) return null;
    return steps;
  }
}

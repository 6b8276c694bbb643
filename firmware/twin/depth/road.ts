import { Dater } from '../../../host/link/dater.js';
import type { Boot, ClockMapPiece, DatedMessage, Gap } from '../../../host/link/dated.js';
import { SILENCE_MAX_us } from '../../../host/link/session.js';
import { randomStream } from '../world/random.js';
import type { RandomStream } from '../world/random.js';
import { rowsInOrder } from './block.js';
import type { Block } from './block.js';
import type { SamplesBench } from './samples.js';

/** What the host's road takes, in the order in which it takes it. */
export type RoadItem =
  | { readonly kind: 'boot'; readonly boot: Boot }
  | { readonly kind: 'clockMap'; readonly piece: ClockMapPiece }
  | { readonly kind: 'gap'; readonly gap: Gap }
  | { readonly kind: 'message'; readonly dated: DatedMessage };

export interface RoadOptions {
  /** The store's number of the first boot; the next ones follow. Preset 1. */
  readonly boot_id?: number;
  /** Host's UTC at bench time 0, in us. Preset: 2026-01-01. */
  readonly utc_us?: number;
  /** Standard uncertainty of a date by the map, and of its rate. Preset: what two stamps over a usual adapter give. */
  readonly u_us?: number;
  readonly u_ppm?: number;
}

/** 2026-01-01T00:00:00Z. */
const UTC_us = 1_767_225_600e6;
const U_us = 100;
const U_ppm = 0.5;
const WRAP_ticks = 2 ** 32;
/** A new line through the exchanges is published this often. */
const PIECE_every_s = 30;

/**
 * Turns a bench's blocks into what the host's road takes at dated message: boots, clock map, gaps by the
 * sequence numbers, messages. Where the host would have to ask a board whose hello was lost who it is, and
 * lose some of its messages meanwhile, this knows. The clock map is wrong by what it says of itself: each
 * piece's date and rate are drawn about the true ones.
 */
export class BlockRoad {
  readonly #bench: SamplesBench;
  readonly #options: Required<RoadOptions>;
  readonly #random: RandomStream;
  readonly #boots = new Map<number, Block['boots'][number]>();
  #dater: Dater | null = null;
  #hello: Boot['hello'] | null = null;
  #boot = -1;
  #heard_s = 0;
  #piece_due_s = 0;

  constructor(bench: SamplesBench, options: RoadOptions = {}) {
    this.#bench = bench;
    this.#options = { boot_id: 1, utc_us: UTC_us, u_us: U_us, u_ppm: U_ppm, ...options };
    this.#random = randomStream(bench.seed, 'clock.map');
  }

  /** Blocks in the order in which they were run, each once, before the next run of a bench that reuses its block. */
  *datedMessages(block: Block): Generator<RoadItem> {
    for (const boot of block.boots) this.#boots.set(boot.boot, boot);
    for (const { boot, tick, message } of rowsInOrder(block)) {
      if (boot !== this.#boot) {
        this.#boot = boot;
        const begun = this.#boots.get(boot);
        if (begun !== undefined) yield* this.#begin(boot, begun.t_s, begun.hello);
      }
      const dater = this.#dater;
      if (dater === null || this.#hello === null) continue;
      const t_s = this.#bench.timeOf(boot, tick);
      const { boot_id } = dater;
      // After a silence the host opens the port anew and asks who is there: it then counts what it has missed.
      if (t_s - this.#heard_s > SILENCE_MAX_us / 1e6) dater.hello({ ...this.#hello, tick: tick % WRAP_ticks, wraps: Math.floor(tick / WRAP_ticks) & 0xffff }, t_s * 1e6);
      this.#heard_s = Math.max(t_s, this.#heard_s);
      if (t_s >= this.#piece_due_s) {
        this.#piece_due_s = t_s + PIECE_every_s;
        yield { kind: 'clockMap', piece: this.#piece(boot_id, tick, t_s) };
      }
      const received_us = t_s * 1e6;
      if (message.name === 'hello') {
        yield { kind: 'message', dated: { boot_id, tick: dater.hello(message, received_us), message } };
        continue;
      }
      const dating = dater.date(message, received_us);
      if (dating.kind !== 'dated') continue;
      if (dating.gap !== null) yield { kind: 'gap', gap: dating.gap };
      yield { kind: 'message', dated: { boot_id, tick: dating.tick, message } };
    }
  }

  *#begin(boot: number, t_s: number, hello: Boot['hello']): Generator<RoadItem> {
    const boot_id = this.#options.boot_id + boot;
    this.#dater = new Dater(boot_id, hello, t_s * 1e6);
    this.#hello = hello;
    this.#heard_s = t_s;
    yield { kind: 'boot', boot: { boot_id, hello, simulated: true } };
    this.#piece_due_s = t_s + PIECE_every_s;
    yield { kind: 'clockMap', piece: this.#piece(boot_id, 0, t_s) };
  }

  #piece(boot_id: number, tick_from: number, t_s: number): ClockMapPiece {
    const { utc_us, u_us, u_ppm } = this.#options;
    return {
      boot_id,
      tick_from,
      utc_us: utc_us + t_s * 1e6 + u_us * this.#random.normal(),
      us_per_tick: this.#bench.us_per_tick * (1 + u_ppm * 1e-6 * this.#random.normal()),
      u_us,
    };
  }
}

/**
 * Board ticks to host time, as pieces of straight line with a standard uncertainty.
 *
 * Cause comes before effect, whatever the cable does: the board had the whole
 * question (tick_in) after the host had sent it, and the host had the answer after
 * it began to leave (tick_out). So each exchange bounds the line from both sides,
 * and the quickest exchanges bound it best. The line published is the mean of all
 * lines between the bounds, its uncertainty their spread (envelope.ts). Nothing is
 * assumed about how the delay is shared between the two ways, so a cable that is
 * slow one way only does not shift the time beyond what is published; the midpoint
 * of an exchange would.
 *
 * Pure: no clock is read here.
 */
import { BAUD, lineBytes, messages } from '../../protocol/messages.js';
import type { MessageName } from '../../protocol/messages.js';
import type { ClockMapPiece } from './dated.js';
import { box, estimate, within } from './envelope.js';
import type { Bound, LineEstimate } from './envelope.js';

export interface Exchange {
  /** Host monotonic time just before the question was written. */
  readonly sent_us: number;
  /** Host monotonic time when the bytes of the answer were handed over. */
  readonly received_us: number;
  /** Board ticks since reset, wraps added. */
  readonly tick_in: number;
  readonly tick_out: number;
}

/** One published stretch: from tick_from on, host time is us + (tick - tick_from) * us_per_tick. */
export interface MapPiece {
  readonly tick_from: number;
  readonly us: number;
  readonly us_per_tick: number;
  /** Standard uncertainty of us. */
  readonly u_us: number;
  /** Standard uncertainty of the rate, in parts per million. */
  readonly u_ppm: number;
  /** Rate of the board's clock against the host's, less its nominal rate. */
  readonly ppm: number;
}

/** Ceramic resonators of hobby boards are bought at 0.5 %. */
const RATE_ERROR_MAX_ppm = 5000;
/** A resonator that warms up 10 K in five minutes wanders about this fast; older bounds are loosened for it. */
const WANDER_ppm_per_s = 0.05;
const WINDOW_s = 120;
const EXCHANGES_MAX = 160;
const EXCHANGES_MIN = 8;
/** The hello may have waited in a queue: before any exchange its age is known to this only. */
const HELLO_AGE_MAX_us = 50_000;
const PIECE_AGE_MAX_s = 10;
const HORIZON_s = 1.5;
const PIECES_KEPT = 64;
const CLOCK_GRAIN_us = 1;
const AHEAD_MAX_us = 100_000;
/** Two ticks, two clock readings and 0.5 % of a line, before a line is called quicker than its bytes. */
const STAMP_GRAINS_us = 15;

const line_us = (name: MessageName): number => {
  const def = messages.find((d) => d.name === name);
  return def === undefined ? 0 : (lineBytes(def) * 10e6) / BAUD;
};
const QUESTION_us = line_us('ask_time');
const ANSWER_us = line_us('time');

export class ClockMap {
  readonly boot_id: number;
  readonly #nominal_us_per_tick: number;
  readonly #exchanges: Exchange[] = [];
  readonly #pieces: MapPiece[];
  /** False once an exchange was quicker than its bytes take on a real serial line. */
  #serialLine = true;
  #exchangesSeen = 0;

  /** @param hello tick and arrival of the hello: usable at once, with a large uncertainty */
  constructor(boot_id: number, nominal_us_per_tick: number, hello: { readonly tick: number; readonly received_us: number }) {
    this.boot_id = boot_id;
    this.#nominal_us_per_tick = nominal_us_per_tick;
    this.#pieces = [
      {
        tick_from: hello.tick,
        us: hello.received_us - HELLO_AGE_MAX_us / 2,
        us_per_tick: nominal_us_per_tick,
        u_us: HELLO_AGE_MAX_us / 2,
        u_ppm: RATE_ERROR_MAX_ppm / Math.sqrt(3),
        ppm: 0,
      },
    ];
  }

  /**
   * Takes one exchange in.
   * @returns the new piece when the line moved or tightened enough to be published, else null
   */
  exchange(e: Exchange): MapPiece | null {
    const board_us = (e.tick_out - e.tick_in) * this.#nominal_us_per_tick;
    const spare_us = e.received_us - e.sent_us - board_us;
    // A twin's clock may run ahead of ours by one report of its own; more is no answer to this question.
    if (spare_us < -AHEAD_MAX_us || board_us < 0) return null;
    if (spare_us < QUESTION_us + ANSWER_us - STAMP_GRAINS_us) this.#serialLine = false;
    this.#exchangesSeen++;
    this.#exchanges.push(e);
    const oldest = e.tick_out - (WINDOW_s * 1e6) / this.#nominal_us_per_tick;
    while (this.#exchanges.length > EXCHANGES_MAX || (this.#exchanges[0]?.tick_out ?? oldest) < oldest) this.#exchanges.shift();

    const fit = this.#fit(e);
    const last = this.latest;
    const moved_us = Math.abs(this.#value(last, e.tick_out) - fit.us);
    const age_s = ((e.tick_out - last.tick_from) * this.#nominal_us_per_tick) / 1e6;
    const worth = this.#exchangesSeen === 1 || moved_us > last.u_us / 2 || fit.u_us < 0.8 * last.u_us || age_s >= PIECE_AGE_MAX_s;
    // A piece begins after the one before it, or the later one would be hidden by the earlier.
    if (!worth || e.tick_out <= last.tick_from) return null;
    this.#push(fit);
    return fit;
  }

  /** The latest piece said again from a later tick on: what UTC it stands for has changed, the line has not. */
  again(tick: number): MapPiece | null {
    const last = this.latest;
    if (tick <= last.tick_from) return null;
    const piece = { ...last, tick_from: tick, us: this.#value(last, tick), u_us: this.toMonotonic(tick).u_us };
    this.#push(piece);
    return piece;
  }

  get latest(): MapPiece {
    return this.#pieces[this.#pieces.length - 1] as MapPiece;
  }

  get exchanges(): number {
    return this.#exchangesSeen;
  }

  /** Host monotonic time of a tick by the piece that holds for it, with its standard uncertainty. */
  toMonotonic(tick: number): { readonly us: number; readonly u_us: number } {
    let i = this.#pieces.length - 1;
    while (i > 0 && (this.#pieces[i] as MapPiece).tick_from > tick) i--;
    const piece = this.#pieces[i] as MapPiece;
    const away_s = (Math.abs(tick - piece.tick_from) * this.#nominal_us_per_tick) / 1e6;
    const beyond_us = Math.max(0, away_s - PIECE_AGE_MAX_s) * piece.u_ppm;
    return { us: this.#value(piece, tick), u_us: Math.hypot(piece.u_us, beyond_us) };
  }

  #push(piece: MapPiece): void {
    this.#pieces.push(piece);
    if (this.#pieces.length > PIECES_KEPT) this.#pieces.shift();
  }

  #value(piece: MapPiece, tick: number): number {
    return piece.us + (tick - piece.tick_from) * piece.us_per_tick;
  }

  #fit(newest: Exchange): MapPiece {
    const whole = this.#line(this.#exchanges, newest);
    let best = whole;
    // Bounds that contradict each other: the host's clock is being slewed, or the
    // board's ran unevenly. A shorter memory may then know more.
    for (let n = this.#exchanges.length >> 1; whole.loosened && n >= EXCHANGES_MIN; n >>= 1) {
      const shorter = this.#line(this.#exchanges.slice(-n), newest);
      if (shorter.u_us < best.u_us) best = shorter;
    }
    const { line, u_us } = best;
    return {
      tick_from: newest.tick_out,
      us: newest.received_us + line.offset,
      us_per_tick: this.#nominal_us_per_tick * (1 + line.slope * 1e-6),
      u_us,
      u_ppm: line.u_slope,
      // Ticks that take longer are a board that runs slow.
      ppm: (1 / (1 + line.slope * 1e-6) - 1) * 1e6,
    };
  }

  /** Offsets in us from newest.received_us, slopes in us per nominal second (ppm). */
  #line(exchanges: readonly Exchange[], newest: Exchange): { line: LineEstimate; u_us: number; loosened: boolean } {
    const question_us = this.#serialLine ? QUESTION_us : 0;
    const answer_us = this.#serialLine ? ANSWER_us : 0;
    const bounds: Bound[] = [];
    for (let i = exchanges.length - 1; i >= 0; i--) {
      const e = exchanges[i] as Exchange;
      const in_us = (e.tick_in - newest.tick_out) * this.#nominal_us_per_tick;
      const out_us = (e.tick_out - newest.tick_out) * this.#nominal_us_per_tick;
      const slack = CLOCK_GRAIN_us + (WANDER_ppm_per_s / 2) * (out_us / 1e6) ** 2;
      bounds.push({ side: 'above', x: in_us / 1e6, y: e.sent_us + question_us - newest.received_us - in_us, slack });
      bounds.push({ side: 'below', x: out_us / 1e6, y: e.received_us - answer_us - newest.received_us - out_us, slack });
    }
    const widest_us = Math.max(1e6, ...bounds.map((b) => Math.abs(b.y) + RATE_ERROR_MAX_ppm * Math.abs(b.x)));
    const start = box(widest_us, RATE_ERROR_MAX_ppm);
    const extra_us = leastSlack((slack_us) => within(start, bounds, slack_us).length > 0);
    const line = estimate(within(start, bounds, 2 * extra_us));
    // Not reached: what is loosened twice as far as needed has an area.
    if (line === null) throw new RangeError('no line lies within bounds that were loosened for one');
    return { line, u_us: Math.hypot(line.u_at(0), line.u_at(HORIZON_s), 2 * extra_us) / Math.SQRT2, loosened: extra_us > 0 };
  }
}

/** Least slack, to 10 %, that leaves something; 0 when nothing need be loosened. */
function leastSlack(leavesSome: (slack_us: number) => boolean): number {
  if (leavesSome(0)) return 0;
  let high = 1;
  while (!leavesSome(high)) high *= 2;
  let low = high / 2;
  while (high - low > 0.1 * high) {
    const middle = (low + high) / 2;
    if (leavesSome(middle)) high = middle;
    else low = middle;
  }
  return high;
}

/** The stored form of a piece: UTC instead of the host's monotonic time. */
export function storedPiece(boot_id: number, piece: MapPiece, wall: { readonly offset_us: number; readonly u_us: number }): ClockMapPiece {
  return {
    boot_id,
    tick_from: piece.tick_from,
    utc_us: piece.us + wall.offset_us,
    us_per_tick: piece.us_per_tick,
    u_us: Math.hypot(piece.u_us, wall.u_us),
    u_ppm: piece.u_ppm,
  };
}

import type { BoardMessage, MessageOf } from '../../protocol/messages.js';

/** The stretch of board time that a reset begins and the next reset ends. */
export interface Boot {
  /** Issued by the store, rises with time; never the board's own counter. */
  readonly boot_id: number;
  readonly hello: MessageOf<'hello'>;
  readonly simulated: boolean;
}

/** A message and the board time it belongs to: what the road forks on. */
export interface DatedMessage {
  readonly boot_id: number;
  /** Board ticks since reset, wraps added on receipt, exact below 2^53. */
  readonly tick: number;
  readonly message: BoardMessage;
}

/** What the sequence numbers say is missing from one stream. Spent here, not stored per row. */
export interface Gap {
  readonly boot_id: number;
  readonly stream: Exclude<BoardMessage['name'], 'hello'>;
  /** Last tick before and first tick after the hole. */
  readonly tick_from: number;
  readonly tick_to: number;
  readonly lost: number;
}

/** From its first tick on, utc_us = utc_us + (tick - tick_from) * us_per_tick holds within u_us (standard uncertainty). */
export interface ClockMapPiece {
  readonly boot_id: number;
  readonly tick_from: number;
  readonly utc_us: number;
  readonly us_per_tick: number;
  readonly u_us: number;
  /** Standard uncertainty of us_per_tick, in parts per million of it; missing where the record does not keep it. */
  readonly u_ppm?: number;
}

import { NO_BOARD_ID, resetCauses } from '../../protocol/messages.js';
import type { MessageOf } from '../../protocol/messages.js';

type Hello = MessageOf<'hello'>;

/** What is known of a boot when a hello must be judged against it. */
export interface BootSoFar {
  readonly hello: Hello;
  /** Newest board tick seen, wraps added, and the host's monotonic time when it was. */
  readonly tick: number;
  readonly seen_us: number;
}

/**
 * same: the board ran on. new: it was reset, or is another. stale: it may be the
 * same, but this hello was written longer ago than the cable explains (it waited in
 * a buffer while nobody read): ask again.
 */
export type BootVerdict = 'same' | 'new' | 'stale';

/** Queues on both sides and a busy host: what a message may be late by. */
const LATE_MAX_us = 3e6;
/** Both clocks' rates, see clock_map.ts, and a little for the reading itself. */
const RATE_ERROR_MAX = 5500e-6;
const READING_us = 100_000;

export const us_per_tick = (hello: Hello): number => (hello.cycles_per_tick * 1e6) / hello.clock_Hz;

export const fullTick = (low32: number, wraps: number): number => wraps * 2 ** 32 + low32;

/** What a hello says that stays the same until the next reset. */
export type Start = Pick<Hello, 'boot_count' | 'reset_cause' | 'schema_hash' | 'firmware' | 'clock_Hz' | 'cycles_per_tick'>;

export const sameStart = (a: Start, b: Start): boolean =>
  a.boot_count === b.boot_count &&
  a.reset_cause === b.reset_cause &&
  a.schema_hash === b.schema_hash &&
  a.firmware === b.firmware &&
  a.clock_Hz === b.clock_Hz &&
  a.cycles_per_tick === b.cycles_per_tick;

/**
 * Is the board that says `hello` at `now_us` still in the boot known as `before`?
 * The port's name is no evidence. A board without an id is always a stranger.
 */
export function judgeBoot(before: BootSoFar, hello: Hello, now_us: number): BootVerdict {
  const was = before.hello;
  const sameBoard = hello.board_id !== NO_BOARD_ID && hello.board_id === was.board_id;
  if (!sameBoard || !sameStart(hello, was)) return 'new';

  const tick_us = us_per_tick(hello);
  const tick = fullTick(hello.tick, hello.wraps);
  const ahead_us = (tick - before.tick) * tick_us;
  const elapsed_us = now_us - before.seen_us;
  // A reset starts the ticks from 0; messages overtake each other by less than LATE_MAX.
  if (ahead_us < -Math.min(LATE_MAX_us, before.tick * tick_us / 2)) return 'new';
  const tolerance_us = LATE_MAX_us + elapsed_us * RATE_ERROR_MAX;
  if (ahead_us > elapsed_us + tolerance_us) return 'new';
  if (ahead_us < elapsed_us - tolerance_us - READING_us) return 'stale';
  return 'same';
}

/** A twin behind a pseudo-terminal looks like any port: its chip says what it is. */
export const isEmulated = (hello: Hello): boolean => (hello.reset_cause & (1 << resetCauses.emulated.bit)) !== 0;

/** Eight digits in two groups: read out and compared by people. */
export function idText(id: number): string {
  const digits = id.toString(16).toUpperCase().padStart(8, '0');
  return `${digits.slice(0, 4)}-${digits.slice(4)}`;
}

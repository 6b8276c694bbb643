import type { MessageOf } from '../../protocol/messages.js';
import { fullTick, sameStart, us_per_tick } from '../link/boot_evidence.js';

/** A boot as it is stored. */
export interface BootRow {
  readonly boot_id: number;
  readonly board_boot: number;
  readonly simulated: number;
  readonly schema_hash: number;
  readonly firmware: number;
  readonly clock_Hz: number;
  readonly cycles_per_tick: number;
  readonly reset_cause: number;
  readonly tick_first: number;
}

/** By how much a hello may be older than what was seen before it: the queues on both sides. */
const DISORDER_us = 3e6;
/** What a board may fall behind the host by in going on running: rate error and queues. */
const BEHIND = 0.01;
const BEHIND_us = 5e6;

/**
 * Whether the board that says `hello` at `now_us` can have run on since `before`.
 * @param newest newest tick known of that boot
 * @param seen the newest that this process has seen, and when by the monotonic clock
 */
export function ranOn(
  before: BootRow,
  hello: MessageOf<'hello'>,
  newest: number,
  seen: { readonly tick: number; readonly at_us: number } | null,
  now_us: number,
): boolean {
  if (!sameStart(hello, { ...before, boot_count: before.board_boot })) return false;
  const tick = fullTick(hello.tick, hello.wraps);
  const tick_us = us_per_tick(hello);
  if ((newest - tick) * tick_us > Math.min(DISORDER_us, (newest * tick_us) / 2)) return false;
  // A counter that could not be written stays the same over a reset; but a board that
  // was reset since cannot have counted the time between. Only the monotonic clock may
  // judge this, and it knows only what this process has seen: the wall clock steps.
  if (seen === null) return true;
  return (tick - seen.tick) * tick_us >= (now_us - seen.at_us) * (1 - BEHIND) - BEHIND_us;
}

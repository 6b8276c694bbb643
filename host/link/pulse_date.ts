/** A pulse as it is kept: with the wraps that the wire leaves out. */
export interface DatedPulse {
  /** Full tick of the last pulse; null before the first since reset, or where no pulse of this boot can have that tick. */
  readonly pulse_tick: number | null;
  /** Pulses since reset. */
  readonly pulses: number;
}

/** A pulse may come between the tick of its line and the reading of the counter: 10 ms is far more than that takes. */
const AHEAD_ticks = 20_000;

/**
 * Adds the wraps to what a flow message says of its last pulse. The 32 bits of a pulse
 * that is 36 minutes old look like a fresh one, and 65536 pulses like none: what the
 * message before said settles the first, and the second needs a hole of minutes.
 * @param tick of the message, wraps added
 * @param before what the message before it in the same boot came to
 */
export function datePulse(tick: number, message: { readonly pulse_tick: number; readonly pulses: number }, before: DatedPulse | undefined): DatedPulse {
  const pulses = before === undefined ? message.pulses : before.pulses + ((message.pulses - before.pulses) & 0xffff);
  if (pulses === 0 && message.pulse_tick === 0) return { pulse_tick: null, pulses };
  if (before !== undefined && before.pulse_tick !== null && pulses === before.pulses) return { pulse_tick: before.pulse_tick, pulses };
  const ago = (tick - message.pulse_tick + AHEAD_ticks) % 2 ** 32;
  const pulse_tick = tick + AHEAD_ticks - (ago < 0 ? ago + 2 ** 32 : ago);
  return { pulse_tick: pulse_tick < 0 ? null : pulse_tick, pulses };
}

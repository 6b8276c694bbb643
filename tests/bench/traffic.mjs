// What a board at full rate says: the lines of `seconds`, in the order of their times.
import { encodeLine } from '../../dist/protocol/codec.js';
import { schemaHash } from '../../dist/protocol/messages.js';

const TICKS_per_s = 2_000_000;
const rates_Hz = { edge: 400, force: 80, hot: 4, water: 4, flow: 4, status: 1, time: 1 };

/** A small generator with a seed (Lehmer's, modulus 2^31 - 1), so that every trial reads the same bytes. */
export function randomOf(seed) {
  let state = seed;
  return () => (state = (state * 48_271) % 2_147_483_647) / 2_147_483_647;
}

export const hello = () => ({
  name: 'hello', seq: 0, schema_hash: schemaHash(), firmware: 0x000100, clock_Hz: 16_000_000, cycles_per_tick: 8,
  reset_cause: 1, board_id: 0x5eed1234, boot_count: 7, wraps: 0, tick: 1000,
});

export function messagesOf(seconds, seed = 1) {
  const random = randomOf(seed);
  const u = (bits) => Math.floor(random() * 2 ** bits);
  const found = [];
  for (const [name, rate_Hz] of Object.entries(rates_Hz)) {
    for (let i = 1; i < seconds * rate_Hz; i++) {
      const jitter = name === 'edge' ? (random() - 0.5) * 0.2 : 0;
      found.push({ name, seq: i & 0xffff, tick: Math.round(((i + jitter) * TICKS_per_s) / rate_Hz) });
    }
  }
  found.sort((a, b) => a.tick - b.tick);
  return found.map(({ name, seq, tick }) => {
    const head = { name, seq, tick };
    switch (name) {
      case 'force':
        return { ...head, count: u(20) - 2 ** 19, flags: 0 };
      case 'hot':
        return { ...head, word: u(32) };
      case 'water':
        return {
          ...head, in_sum: u(16), out_sum: u(16), skin_sum: u(16), spare_sum: u(16),
          in_spread: u(4), out_spread: u(4), skin_spread: u(4), spare_spread: u(4),
        };
      case 'flow':
        return { ...head, pulse_tick: tick - u(12), pulses: seq };
      case 'status':
        return {
          ...head, wraps: 0, lines_dropped: 0, edges_lost: 0, captures_overrun: 0, forces_lost: 0, bridge_desyncs: 0, bridge_timeouts: 0,
          rx_overruns: 0, rx_framings: 0, rx_bad_lines: 0, loop_max: u(10), stack_free_min: 700, eeprom_state: 0,
        };
      case 'time':
        return { name, seq, question: seq, tick_in: tick - 900, tick_out: tick };
      default:
        return head;
    }
  });
}

const tickOf = (message) => (message.name === 'time' ? message.tick_out : message.tick);

export const lineOf = encodeLine;

const BYTE_us = 40; // 250 000 baud, 8N1
const POLL_us = 1000;

/**
 * Cut where a USB serial adapter cuts, set to low latency as host/link sets it: once in a
 * millisecond the computer fetches what has come over the line since, so a line of the
 * board comes in one to four pieces, and a piece holds parts of two lines where they queue.
 */
export function chunksOf(messages) {
  const chunks = [];
  let free_us = 0;
  let poll = -1;
  let from = [];
  const hand = () => {
    if (from.length > 0) chunks.push(Buffer.from(from));
    from = [];
  };
  for (const message of messages) {
    free_us = Math.max(free_us, (tickOf(message) / TICKS_per_s) * 1e6);
    for (const byte of Buffer.from(lineOf(message), 'latin1')) {
      free_us += BYTE_us;
      if (Math.floor(free_us / POLL_us) !== poll) hand();
      poll = Math.floor(free_us / POLL_us);
      from.push(byte);
    }
  }
  hand();
  return chunks;
}

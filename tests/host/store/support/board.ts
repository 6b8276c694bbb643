import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

import type { ClockMapPiece, DatedMessage, Gap } from '../../../../host/link/dated.js';
import type { MessageOf } from '../../../../protocol/messages.js';
import { helloOf as anyHello } from '../../link/support/hello.js';

export const TICK_Hz = 2_000_000;

/** A board of its own that was reset from outside. */
export const helloOf = (more: Partial<MessageOf<'hello'>> = {}): MessageOf<'hello'> =>
  anyHello({ reset_cause: 0b10, board_id: 0x00c0ffee, tick: 20_000, ...more });

export const force = (boot_id: number, tick: number, count = 1234, flags = 0): DatedMessage => ({
  boot_id,
  tick,
  message: { name: 'force', seq: 0, tick: tick % 2 ** 32, count, flags },
});

export const edge = (boot_id: number, tick: number): DatedMessage => ({
  boot_id,
  tick,
  message: { name: 'edge', seq: 0, tick: tick % 2 ** 32 },
});

const dated = (boot_id: number, tick: number, message: DatedMessage['message']): DatedMessage => ({ boot_id, tick, message });

export const hot = (boot_id: number, tick: number, word: number): DatedMessage => dated(boot_id, tick, { name: 'hot', seq: 0, tick: tick % 2 ** 32, word });

export const water = (boot_id: number, tick: number, more: Partial<MessageOf<'water'>> = {}): DatedMessage =>
  dated(boot_id, tick, {
    name: 'water', seq: 0, tick: tick % 2 ** 32,
    in_sum: 32_768, out_sum: 16_384, skin_sum: 8192, spare_sum: 4096, in_spread: 3, out_spread: 1, skin_spread: 2, spare_spread: 0, ...more,
  });

/** @param pulse full tick of the last pulse, cut to what the wire carries */
export const flow = (boot_id: number, tick: number, pulse: number, pulses: number): DatedMessage =>
  dated(boot_id, tick, { name: 'flow', seq: 0, tick: tick % 2 ** 32, pulse_tick: pulse % 2 ** 32, pulses: pulses % 65536 });

export const mark = (boot_id: number, tick: number): DatedMessage => dated(boot_id, tick, { name: 'mark', seq: 0, tick: tick % 2 ** 32 });

export const setting = (boot_id: number, tick: number, key: number, value: number, result = 0): DatedMessage =>
  dated(boot_id, tick, { name: 'setting', seq: 0, tick: tick % 2 ** 32, key, value, result });

export const status = (boot_id: number, tick: number, more: Partial<MessageOf<'status'>> = {}): DatedMessage => ({
  boot_id,
  tick,
  message: {
    name: 'status',
    seq: 0,
    tick: tick % 2 ** 32,
    wraps: Math.floor(tick / 2 ** 32),
    lines_dropped: 0,
    edges_lost: 0,
    captures_overrun: 0,
    forces_lost: 0,
    bridge_desyncs: 0,
    bridge_timeouts: 0,
    rx_overruns: 0,
    rx_framings: 0,
    rx_bad_lines: 0,
    loop_max: 400,
    stack_free_min: 900,
    eeprom_state: 0,
    ...more,
  },
});

export const gap = (boot_id: number, stream: Gap['stream'], tick_from: number, tick_to: number, lost: number): Gap => ({
  boot_id,
  stream,
  tick_from,
  tick_to,
  lost,
});

export const piece = (boot_id: number, tick_from: number, utc_us: number, us_per_tick = 0.5, u_us = 100): ClockMapPiece => ({
  boot_id,
  tick_from,
  utc_us,
  us_per_tick,
  u_us,
});

/** A folder that is gone when the test file ends. */
export function scratch(): { path: (name: string) => string; folder: string; remove: () => void } {
  const folder = mkdtempSync(join(tmpdir(), 'smallbrake-'));
  return { folder, path: (name) => join(folder, name), remove: () => rmSync(folder, { recursive: true, force: true }) };
}

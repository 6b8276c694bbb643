import { schemaHash } from '../../../../protocol/messages.js';
import type { MessageOf } from '../../../../protocol/messages.js';

/** A board at 16 MHz, powered up, whose tick is half a microsecond. */
export function helloOf(changes: Partial<MessageOf<'hello'>> = {}): MessageOf<'hello'> {
  return {
    name: 'hello',
    seq: 0,
    schema_hash: schemaHash(),
    firmware: 0x000100,
    clock_Hz: 16_000_000,
    cycles_per_tick: 8,
    reset_cause: 1,
    board_id: 0x1a2b3c4d,
    boot_count: 7,
    wraps: 0,
    tick: 1000,
    ...changes,
  };
}

import { decodeLine } from '../../protocol/codec.js';
import type { LineFault } from '../../protocol/codec.js';
import { crcOfText } from '../../protocol/crc.js';
import type { BoardMessage, Message } from '../../protocol/messages.js';

/** What a line turned out to be: a board's message, a foreign edition's hello, or nothing that counts. */
export type Decoded =
  | { readonly kind: 'message'; readonly message: BoardMessage }
  /** A hello that this edition cannot read in full; its first field never moves. */
  | { readonly kind: 'foreign_hello'; readonly schema_hash: number }
  | { readonly kind: 'nothing' };

const NOTHING: Decoded = { kind: 'nothing' };

export class LineDecoder {
  readonly faults: Record<LineFault, number> = { too_short: 0, too_long: 0, not_ascii: 0, bad_crc: 0, bad_digit: 0, unknown: 0 };
  readonly received: Record<BoardMessage['name'], number> = {
    hello: 0, edge: 0, force: 0, hot: 0, water: 0, flow: 0, mark: 0, setting: 0, status: 0, time: 0,
  };
  /** Lines that only a host sends: the port hands back what was written to it. */
  echoes = 0;
  /** First lines after an open, torn by it: expected, so no fault. */
  tornStarts = 0;

  /** @param first the line may lack its start, because the port was opened inside it */
  decode(line: string, first: boolean): Decoded {
    const result = decodeLine(line);
    if (typeof result !== 'string') {
      if (this.#counted(result)) {
        return { kind: 'message', message: result };
      }
      this.echoes++;
      return NOTHING;
    }
    const schema_hash = schemaOfHello(line);
    if (schema_hash !== null) return { kind: 'foreign_hello', schema_hash };
    if (first) this.tornStarts++;
    else this.faults[result]++;
    return NOTHING;
  }

  /** What has a counter is what boards say: one look tells both. */
  #counted(message: Message): message is BoardMessage {
    const received: Partial<Record<Message['name'], number>> = this.received;
    const before = received[message.name];
    if (before === undefined) return false;
    received[message.name] = before + 1;
    return true;
  }
}

/** The schema hash of a hello of any edition, or null when the line is none or is damaged. */
export function schemaOfHello(line: string): number | null {
  const found = /^B[0-9A-F]{4} ([0-9A-F]{8})(?: .*)? ([0-9A-F]{4})$/.exec(line);
  if (found === null) return null;
  const [, hash = '', crc = ''] = found;
  return parseInt(crc, 16) === crcOfText(line, line.length - 5) ? parseInt(hash, 16) : null;
}

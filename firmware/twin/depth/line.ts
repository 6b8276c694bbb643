import { decodeLine, withCrc } from '../../../protocol/codec.js';
import { BAUD } from '../../../protocol/messages.js';
import type { BoardMessage } from '../../../protocol/messages.js';
import type { Cable } from '../wiring/cable.js';
import { AT, bodyOf, BYTES, SLOT } from './slots.js';
import { CLOCK_Hz, QUEUE_bytes } from './timing.js';

/** Start bit, eight of data, stop bit. */
export const BYTE_cycles = (CLOCK_Hz * 10) / BAUD;
/** In the transmitter, no longer in the queue. */
const IN_CHIP_bytes = 2;
const LF = 10;
const SLOTS = 64;

/** What the line tells. Rows of `slots` are read at once: they are used again. */
export interface LineSink {
  /** A line has left the board, and came out of the cable as it was. */
  whole(slots: Float64Array, at: number): void;
  /** Bytes came out of the cable in another way, latin1: a line with a broken one, or a part of one. */
  bytes(text: string): void;
  /** The LF of a line that was not carried as above: what it reads as, if anything. `at` is the row of the line that brought the LF. */
  mended(message: BoardMessage | null, slots: Float64Array, at: number): void;
  /** A line that was not carried as above has left the board's pin: its text there, without LF, and whether every byte came out of the cable as it was. */
  sent(text: string, whole: boolean, slots: Float64Array, at: number): void;
}

/** The board's transmit queue, its line and the cable: lines in, at the line's rate out, in order. */
export class Line {
  readonly slots = new Float64Array(SLOTS * SLOT);
  bytes_sent = 0;
  readonly #sink: LineSink;
  readonly #cable: Cable;
  #head = 0;
  #count = 0;
  /** When the line falls silent. */
  #free_cycle = 0;
  /** Bytes of the first row that have gone already: something happened in the middle of it. */
  #gone = 0;
  /** What the computer, and the board's pin, have of a line without its LF. */
  #heard = '';
  #said = '';
  #saidWhole = true;

  constructor(sink: LineSink, cable: Cable) {
    this.#sink = sink;
    this.#cable = cable;
  }

  get free_cycle(): number {
    return this.#free_cycle;
  }

  /** A row for a line queued at `cycle`; -1: the queue is full. The caller fills in the rest. */
  place(kind: number, seq: number, cycle: number): number {
    const bytes = BYTES[kind] as number;
    const waiting = Math.ceil((this.#free_cycle - cycle) / BYTE_cycles) - IN_CHIP_bytes;
    if (waiting > 0 && bytes > QUEUE_bytes - waiting) return -1;
    if (this.#count === SLOTS) this.flush(cycle);
    const start = Math.max(cycle, this.#free_cycle);
    this.#free_cycle = start + bytes * BYTE_cycles;
    const at = ((this.#head + this.#count++) % SLOTS) * SLOT;
    this.slots[at + AT.kind] = kind;
    this.slots[at + AT.seq] = seq;
    this.slots[at + AT.start] = start;
    this.slots[at + AT.end] = this.#free_cycle;
    return at;
  }

  /** Lets go what has left by `cycle`. */
  flush(cycle: number): void {
    while (this.#count > 0) {
      const at = this.#head * SLOT;
      if ((this.slots[at + AT.end] as number) > cycle) return;
      if (this.#gone === 0 && this.#cable.clean && this.#heard === '' && this.#said === '') {
        this.bytes_sent += BYTES[this.slots[at + AT.kind] as number] as number;
        this.#sink.whole(this.slots, at);
      } else this.#carry(at, Infinity);
      this.#gone = 0;
      this.#head = (this.#head + 1) % SLOTS;
      this.#count--;
    }
  }

  /** The cable changes at `cycle`: what has left by then goes over it as it was. */
  cut(cycle: number): void {
    this.flush(cycle);
    if (this.#count === 0) return;
    const at = this.#head * SLOT;
    this.#carry(at, Math.floor((cycle - (this.slots[at + AT.start] as number)) / BYTE_cycles));
  }

  /** The board is reset: what has not left never will. */
  reset(cycle: number): void {
    this.cut(cycle);
    this.#count = 0;
    this.#gone = 0;
    this.#free_cycle = cycle;
  }

  /** Bytes of a row one by one, up to number `until`. */
  #carry(at: number, until: number): void {
    const text = withCrc(bodyOf(this.slots, at)) + '\n';
    let out = '';
    for (; this.#gone < Math.min(until, text.length); this.#gone++) {
      const byte = text.charCodeAt(this.#gone);
      const carried = this.#cable.carry(byte);
      this.bytes_sent++;
      if (carried !== byte) this.#saidWhole = false;
      if (carried >= 0) {
        out += String.fromCharCode(carried);
        if (carried !== LF) this.#heard += String.fromCharCode(carried);
        else this.#end(at);
      }
      if (byte !== LF) this.#said += text[this.#gone] ?? '';
      else {
        this.#sink.sent(this.#said, this.#saidWhole, this.slots, at);
        this.#said = '';
        this.#saidWhole = true;
      }
    }
    if (out !== '') this.#sink.bytes(out);
  }

  #end(at: number): void {
    const message = decodeLine(this.#heard);
    this.#heard = '';
    this.#sink.mended(typeof message === 'string' ? null : (message as BoardMessage), this.slots, at);
  }
}

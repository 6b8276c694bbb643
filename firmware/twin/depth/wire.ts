import { decodeLine, withCrc } from '../../../protocol/codec.js';
import { LINE_BYTES_MAX, messages } from '../../../protocol/messages.js';
import type { HostMessage } from '../../../protocol/messages.js';
import type { Scenario } from '../scenario.js';
import type { Sums, TruthSink } from '../truth.js';
import { actInWords, parseAct } from '../world/acts.js';
import type { Act } from '../world/acts.js';
import type { WorldNow } from '../world/world.js';
import { LeanBoard } from './lean-board.js';
import { BYTE_cycles } from './line.js';
import type { LineSink } from './line.js';
import { EEPROM_BYTES } from './record.js';
import { AT, bodyOf } from './slots.js';
import { CLOCK_Hz } from './timing.js';

export interface WireOptions {
  readonly scenario: Scenario;
  readonly seed: number;
  readonly eeprom?: Uint8Array;
  readonly truth: TruthSink | null;
  /** Hears the bytes that come out at the computer's end of the cable, in order. */
  readonly out: (bytes: Uint8Array) => void;
}

const LF = 10;
const SUMS_every_s = 1;
const hostTags = new Set<string>(messages.filter((d) => d.from === 'host').map((d) => d.name));

/**
 * The sensor board in its bench without a chip: the lines that the program would send, and its answers to
 * the host's. The same scenario, seed, and acts and questions at the same bench times give the same bytes.
 */
export class WireBoard implements LineSink {
  readonly #board: LeanBoard;
  readonly #truth: TruthSink | null;
  readonly #out: (bytes: Uint8Array) => void;
  #outgoing = '';
  #incoming = '';
  #tooLong = false;
  #free_cycle = 0;
  #bytes_out = 0;
  #bytes_heard = 0;
  #lines = 0;
  #lines_whole = 0;
  #sums_due_s = SUMS_every_s;

  constructor(options: WireOptions) {
    const { scenario, seed, truth } = options;
    this.#truth = truth;
    this.#out = options.out;
    truth?.record({ kind: 'header', v: 1, simulated: true, depth: 'wire', seed, clock_Hz: CLOCK_Hz, scenario });
    const eeprom = new Uint8Array(EEPROM_BYTES).fill(0xff);
    if (options.eeprom !== undefined) eeprom.set(options.eeprom.subarray(0, EEPROM_BYTES));
    this.#board = new LeanBoard({ scenario, seed, eeprom, truth, line: this });
  }

  get t_s(): number {
    return this.#board.t_s;
  }

  get eeprom(): Uint8Array {
    return this.#board.eeprom;
  }

  /** Bytes from the computer that the board has not heard yet. */
  get waiting_bytes(): number {
    return Math.max(0, Math.ceil((this.#free_cycle - this.#board.now_cycle) / BYTE_cycles));
  }

  /** Runs the board up to `to_s`. */
  advance(to_s: number): void {
    while (this.#sums_due_s <= to_s) {
      this.#board.run(this.#sums_due_s);
      this.#truth?.record({ kind: 'sums', t_s: this.#sums_due_s, ...this.sums() });
      this.#sums_due_s += SUMS_every_s;
    }
    if (to_s > this.#board.t_s) this.#board.run(to_s);
    if (this.#outgoing === '') return;
    const bytes = Buffer.from(this.#outgoing, 'latin1');
    this.#outgoing = '';
    this.#bytes_out += bytes.length;
    this.#out(bytes);
  }

  /** Bytes from the computer, at the line's rate from now on. A pulled cable swallows them. */
  receive(bytes: Uint8Array): void {
    for (const byte of bytes) {
      const carried = this.#board.cable.carry(byte);
      if (carried >= 0) this.#receive(carried);
    }
  }

  /**
   * Does an act as typed, now: at the next moment that the bench has not worked out yet.
   * @throws BAD_ACT
   */
  do(text: string): { readonly t_s: number; readonly said: string } {
    const act = parseAct(text);
    this.#board.world.demand(act);
    const { t_s } = this.#board.world;
    this.#truth?.record({ kind: 'act', t_s, act });
    this.#board.world.act(act);
    return { t_s, said: actInWords(act) };
  }

  /** Does an act at `t_s`, exactly, if the bench has not worked that out yet; else at its next moment. */
  at(t_s: number, act: Act): void {
    this.#board.world.at(t_s, act, (at_s) => this.#truth?.record({ kind: 'act', t_s: at_s, act }));
  }

  now(): WorldNow {
    return this.#board.world.now();
  }

  sums(): Sums {
    const { line, happened } = this.#board;
    return {
      bytes_sent: line.bytes_sent,
      lines_sent: this.#lines,
      lines_whole: this.#lines_whole,
      bytes_out: this.#bytes_out + this.#outgoing.length,
      bytes_heard: this.#bytes_heard,
      ...happened,
    };
  }

  /** Writes the last sums. The board is not run afterwards. */
  end(): void {
    this.#truth?.record({ kind: 'end', t_s: this.t_s, ...this.sums() });
  }

  whole(slots: Float64Array, at: number): void {
    const text = withCrc(bodyOf(slots, at));
    this.#outgoing += text + '\n';
    this.sent(text, true, slots, at);
  }

  bytes(text: string): void {
    this.#outgoing += text;
  }

  mended(): void {
    // What a line reads as is the host's business.
  }

  sent(text: string, whole: boolean, slots: Float64Array, at: number): void {
    this.#lines++;
    if (whole) this.#lines_whole++;
    if (this.#truth === null) return;
    const cycle = slots[at + AT.end] as number;
    this.#truth.record({ kind: 'line', t_s: this.#board.timeOf(cycle), cycle, n: this.#lines, whole, text });
  }

  #receive(byte: number): void {
    this.#free_cycle = Math.max(this.#free_cycle, this.#board.now_cycle) + BYTE_cycles;
    this.#bytes_heard++;
    if (byte !== LF) {
      if (this.#incoming.length < LINE_BYTES_MAX - 1) this.#incoming += String.fromCharCode(byte);
      else this.#tooLong = true;
      return;
    }
    if (this.#tooLong || this.#incoming !== '') this.#board.hear(this.#free_cycle, this.#tooLong ? null : asked(this.#incoming));
    this.#incoming = '';
    this.#tooLong = false;
  }
}

/** null: it fails a check, or is a board's own message. */
function asked(line: string): HostMessage | null {
  const message = decodeLine(line);
  return typeof message !== 'string' && hostTags.has(message.name) ? (message as HostMessage) : null;
}

import { createWriteStream, openSync } from 'node:fs';
import type { Writable } from 'node:stream';

import type { Clock } from '../clock.js';
import { fail, reasonOf } from '../errors.js';
import { encodeHeader, encodeRecorded } from './recording.js';
import type { Recorded } from './recording.js';
import { WallAnchor } from './wall_anchor.js';

/** What a session tells of its port; the times are those that the session itself works with. */
export interface PortWitness {
  opened(at_us: number, label: string): void;
  received(at_us: number, bytes: Buffer): void;
  sent(at_us: number, text: string): void;
  closed(at_us: number, reason: string): void;
}

/** From one writing to the next, of the machine's time: what a crash costs the recording. */
const WRITE_EVERY_us = 250_000;
/** Kept in memory for a disk that is slow: minutes at full rate. What would pass it is left out, counted, and told in the file. */
export const WAITING_MAX_bytes = 8e6;
/** What an event costs beside its bytes. */
const EVENT_bytes = 64;
/** A wall clock read to the millisecond is known best at the turn of one, which is at most a millisecond away. */
const WALL_GOOD_us = 50;
const WALL_READINGS_MAX = 20_000;

/**
 * Writes down what goes over the port. Taking an event is a push onto a list; it is
 * put into text and written later, by a timer. A disk that takes no more ends the
 * recording with one sentence, never the bench.
 */
export class Recorder implements PortWitness {
  readonly #clock: Clock;
  readonly #out: Writable;
  readonly #notice: (sentence: string) => void;
  readonly #start_us: number;
  readonly #anchor = new WallAnchor();
  #cancelTimer: () => void = () => undefined;
  #events: Recorded[] = [];
  #events_bytes = 0;
  #lost = 0;
  #stopped = false;

  /**
   * @param clock the link's: its times are the recording's
   * @param pace the machine's: a disk does not run faster with the bench
   * @param notice is called at most once, when the recording had to end
   */
  constructor(out: Writable, clock: Clock, pace: Clock, simulated: boolean | null, notice: (sentence: string) => void) {
    this.#out = out;
    this.#clock = clock;
    this.#notice = notice;
    this.#start_us = clock.monotonic_us();
    this.#readWall();
    for (let n = 0; n < WALL_READINGS_MAX && this.#anchor.u_us > WALL_GOOD_us; n++) this.#readWall();
    out.on('error', (error) => this.#failed(error));
    out.write(encodeHeader({ wall_us: this.#anchor.offset_us, simulated }), 'latin1');
    const write = (): void => {
      this.#write();
      if (!this.#stopped) this.#cancelTimer = pace.after(WRITE_EVERY_us, write);
    };
    this.#cancelTimer = pace.after(WRITE_EVERY_us, write);
  }

  opened(at_us: number, label: string): void {
    this.#push({ us: at_us - this.#start_us, kind: 'open', label }, label.length);
  }

  received(at_us: number, bytes: Buffer): void {
    this.#push({ us: at_us - this.#start_us, kind: 'received', bytes }, bytes.length);
  }

  sent(at_us: number, text: string): void {
    this.#push({ us: at_us - this.#start_us, kind: 'sent', bytes: Buffer.from(text, 'latin1') }, text.length);
  }

  closed(at_us: number, reason: string): void {
    this.#push({ us: at_us - this.#start_us, kind: 'close', reason }, reason.length);
  }

  /** Writes what waits and ends the file. Never rejects; twice does no harm. */
  async close(): Promise<void> {
    if (this.#stopped) return;
    this.#write();
    this.#stopped = true;
    this.#cancelTimer();
    await new Promise<void>((resolve) => {
      this.#out.once('close', resolve);
      this.#out.end();
    });
  }

  #push(event: Recorded, bytes: number): void {
    if (this.#stopped) return;
    if (this.#events_bytes + this.#out.writableLength + bytes + EVENT_bytes > WAITING_MAX_bytes) {
      this.#lost++;
      return;
    }
    if (this.#lost > 0) {
      this.#events.push({ us: event.us, kind: 'lost', events: this.#lost });
      this.#lost = 0;
    }
    this.#events.push(event);
    this.#events_bytes += bytes + EVENT_bytes;
  }

  #write(): void {
    if (this.#stopped) return;
    if (this.#readWall()) {
      const us = this.#clock.monotonic_us() - this.#start_us;
      this.#events.push({ us, kind: 'wall', wall_us: us + this.#anchor.offset_us });
    }
    if (this.#events.length === 0) return;
    const text = this.#events.map(encodeRecorded).join('');
    this.#events = [];
    this.#events_bytes = 0;
    this.#out.write(text, 'latin1');
  }

  /** The offset is that of the recording's own time, which began with it. @returns whether it was stepped */
  #readWall(): boolean {
    const before_us = this.#clock.monotonic_us() - this.#start_us;
    const wall_us = this.#clock.wall_us();
    return this.#anchor.read(before_us, wall_us, this.#clock.monotonic_us() - this.#start_us);
  }

  #failed(error: Error): void {
    if (this.#stopped) return;
    this.#stopped = true;
    this.#cancelTimer();
    this.#events = [];
    this.#notice(`The raw recording has ended (${reasonOf(error)}); the bench and its record go on. What was written before can be replayed.`);
  }
}

/** @throws FILE_EXISTS, CANNOT_WRITE: nothing was changed then */
export function recordingFile(file: string): Writable {
  try {
    return createWriteStream(file, { fd: openSync(file, 'wx') });
  } catch (thrown) {
    if ((thrown as NodeJS.ErrnoException).code === 'EEXIST') throw fail('FILE_EXISTS', { file }, thrown);
    throw fail('CANNOT_WRITE', { file, reason: reasonOf(thrown) }, thrown);
  }
}

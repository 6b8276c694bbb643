import { ReadlineParser } from '@serialport/parser-readline';
import { LINE_BYTES_MAX } from '../../protocol/messages.js';

const LF = 0x0a;

export interface LineCounts {
  bytes: number;
  lines: number;
  /** Lines without a character in them; they go no further. */
  empty: number;
  /** Stretches without a line end that passed LINE_BYTES_MAX and were thrown away up to the next one. */
  overlong: number;
  overlong_bytes: number;
}

/**
 * Lets whole lines of at most LINE_BYTES_MAX bytes through and holds back what has
 * no end yet, so what comes after it can neither grow without bound (a wrong baud
 * rate has no line ends) nor be handed a torn line when the port is lost.
 */
export class LineGuard {
  readonly #counts: LineCounts;
  readonly #held = Buffer.alloc(LINE_BYTES_MAX);
  #heldLength = 0;
  #skipping = false;

  constructor(counts: LineCounts) {
    this.#counts = counts;
  }

  /**
   * In loops over bytes: ports hand on a line or two at a time, and for so little a call into
   * Buffer's own searching and joining costs more than the loop.
   * @returns whole lines with their LF, or null when the chunk completes none
   */
  pass(chunk: Buffer): Buffer | null {
    const counts = this.#counts;
    counts.bytes += chunk.length;
    let last = chunk.length - 1;
    while (last >= 0 && chunk[last] !== LF) last--;
    // Not used again for the next chunk: the parser may still hold it.
    const whole = last < 0 ? null : Buffer.allocUnsafe(this.#heldLength + last + 1);
    let at = 0;
    let start = 0;
    while (whole !== null && start <= last) {
      let end = start;
      while (chunk[end] !== LF) end++;
      const size = this.#heldLength + ++end - start;
      if (this.#skipping) counts.overlong_bytes += end - start;
      else if (size > LINE_BYTES_MAX) {
        counts.overlong++;
        counts.overlong_bytes += size;
      } else if (size === 1) counts.empty++;
      else {
        counts.lines++;
        for (let i = 0; i < this.#heldLength; i++) whole[at++] = this.#held[i] as number;
        for (let i = start; i < end; i++) whole[at++] = chunk[i] as number;
      }
      this.#heldLength = 0;
      this.#skipping = false;
      start = end;
    }
    this.#hold(chunk, start);
    if (whole === null || at === 0) return null;
    return at === whole.length ? whole : whole.subarray(0, at);
  }

  #hold(chunk: Buffer, start: number): void {
    const size = this.#heldLength + chunk.length - start;
    if (this.#skipping) this.#counts.overlong_bytes += chunk.length - start;
    else if (size > LINE_BYTES_MAX) {
      this.#counts.overlong++;
      this.#counts.overlong_bytes += size;
      this.#heldLength = 0;
      this.#skipping = true;
    } else for (let i = start; i < chunk.length; i++) this.#held[this.#heldLength++] = chunk[i] as number;
  }
}

/**
 * Chunks in, lines out, without their LF. One for each opening of a port: nothing
 * of the last opening is left in it.
 */
export class LineReader {
  readonly #guard: LineGuard;
  readonly #parser: ReadlineParser;
  #first = true;

  /** `onLine`'s `first` says that the port may have been opened inside this line. */
  constructor(counts: LineCounts, onLine: (line: string, first: boolean) => void) {
    this.#guard = new LineGuard(counts);
    // Object mode keeps one line one chunk, however they pile up; latin1 keeps one byte one character.
    this.#parser = new ReadlineParser({ delimiter: '\n', encoding: 'latin1', readableObjectMode: true });
    this.#parser.on('data', (line: string) => {
      const first = this.#first;
      this.#first = false;
      onLine(line, first);
    });
  }

  push(chunk: Buffer): void {
    const whole = this.#guard.pass(chunk);
    if (whole !== null) this.#parser.write(whole);
  }

  /** Ends it; lines that were complete but not handed on yet are dropped with it. */
  close(): void {
    this.#parser.removeAllListeners('data');
    this.#parser.destroy();
  }
}

export function noLines(): LineCounts {
  return { bytes: 0, lines: 0, empty: 0, overlong: 0, overlong_bytes: 0 };
}

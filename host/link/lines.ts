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

  /** @returns whole lines with their LF, or null when the chunk completes none */
  pass(chunk: Buffer): Buffer | null {
    this.#counts.bytes += chunk.length;
    const parts: Buffer[] = [];
    let start = 0;
    for (;;) {
      const lf = chunk.indexOf(LF, start);
      const end = lf < 0 ? chunk.length : lf + 1;
      if (this.#skipping) this.#counts.overlong_bytes += end - start;
      else if (this.#heldLength + end - start > LINE_BYTES_MAX) {
        this.#counts.overlong++;
        this.#counts.overlong_bytes += this.#heldLength + end - start;
        this.#heldLength = 0;
        this.#skipping = true;
      } else if (lf < 0) {
        chunk.copy(this.#held, this.#heldLength, start, end);
        this.#heldLength += end - start;
      } else {
        const empty = this.#heldLength + end - start === 1;
        if (empty) this.#counts.empty++;
        else {
          if (this.#heldLength > 0) parts.push(Buffer.from(this.#held.subarray(0, this.#heldLength)));
          parts.push(chunk.subarray(start, end));
          this.#counts.lines++;
        }
        this.#heldLength = 0;
      }
      if (lf < 0) break;
      this.#skipping = false;
      start = end;
    }
    if (parts.length === 0) return null;
    return parts.length === 1 ? (parts[0] as Buffer) : Buffer.concat(parts);
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

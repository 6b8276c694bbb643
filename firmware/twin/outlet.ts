import { createWriteStream, fstatSync } from 'node:fs';
import { Socket } from 'node:net';
import type { Writable } from 'node:stream';

/** Bytes held for a slow reader before the bench waits for it. */
const FULL_bytes = 64 * 1024;

/**
 * Standard output as a stream that never blocks the process. Node's own is written
 * synchronously when it is a pipe, so a reader that stopped would stop the twin too,
 * and it could not even be ended by a signal.
 */
export function openOutput(fd: number): Writable {
  const what = fstatSync(fd);
  return what.isFIFO() || what.isSocket() ? new Socket({ fd, readable: false, writable: true }) : createWriteStream('', { fd });
}

/**
 * Where the board's bytes leave the twin. If the reader does not take them, the bench
 * waits up to `patience_ms`; then, as an adapter without a reader does, bytes are
 * dropped and counted until the reader has caught up.
 */
export class Outlet {
  /** Dropped since last asked for. */
  #dropped_bytes = 0;
  #dropping = false;
  #fullSince_ms = -1;
  readonly #stream: Writable;
  readonly #patience_ms: number;

  constructor(stream: Writable, patience_ms: number) {
    this.#stream = stream;
    this.#patience_ms = patience_ms;
  }

  write(bytes: Uint8Array): void {
    if (this.#dropping) this.#dropped_bytes += bytes.length;
    else this.#stream.write(bytes);
  }

  /** True while the bench should wait for the reader. */
  mustWait(now_ms: number): boolean {
    const held_bytes = this.#stream.writableLength;
    if (this.#dropping) {
      if (held_bytes > FULL_bytes / 2) return false;
      this.#dropping = false;
    }
    if (held_bytes < FULL_bytes) {
      this.#fullSince_ms = -1;
      return false;
    }
    if (this.#fullSince_ms < 0) this.#fullSince_ms = now_ms;
    if (now_ms - this.#fullSince_ms < this.#patience_ms) return true;
    this.#dropping = true;
    this.#fullSince_ms = -1;
    return false;
  }

  /** Bytes dropped since the last call. */
  takeDropped(): number {
    const dropped = this.#dropped_bytes;
    this.#dropped_bytes = 0;
    return dropped;
  }
}

import type { Readable, Writable } from 'node:stream';
import { reasonOf } from '../errors.js';
import { WRITE_WAITING_MAX_bytes } from './byte_port.js';
import type { BytePort, BytePortEvents } from './byte_port.js';

/**
 * A pair of streams used as a port: the built-in twin's standard output and input.
 * The streams outlive the port; closing it only stops listening. The input flows on
 * without a listener, so until the next port listens what comes is thrown away, as a
 * serial line would: a sender that nobody reads must not be held up, nor what it
 * said be taken for news later.
 */
export class StreamBytePort implements BytePort {
  readonly label: string;
  readonly remark = null;
  readonly #input: Readable;
  readonly #output: Writable;
  #events: BytePortEvents | null = null;

  constructor(label: string, input: Readable, output: Writable) {
    this.label = label;
    this.#input = input;
    this.#output = output;
  }

  open(events: BytePortEvents): Promise<void> {
    if (this.#input.readableEnded || this.#input.destroyed) return Promise.reject(new Error(`${this.label} has ended`));
    if (!guarded.has(this.#output)) {
      guarded.add(this.#output);
      // For ever: a pipe whose reader died says so long after we stopped writing.
      this.#output.on('error', () => undefined);
      this.#input.on('error', () => undefined);
    }
    this.#events = events;
    this.#input.on('data', this.#onData);
    this.#input.on('end', this.#onEnd);
    this.#input.on('close', this.#onEnd);
    this.#input.on('error', this.#onError);
    this.#output.on('error', this.#onError);
    return Promise.resolve();
  }

  write(text: string): boolean {
    if (this.#events === null || !this.#output.writable || this.#output.writableLength + text.length > WRITE_WAITING_MAX_bytes) return false;
    this.#output.write(text, 'latin1');
    return true;
  }

  close(): Promise<void> {
    this.#events = null;
    this.#input.off('data', this.#onData);
    this.#input.off('end', this.#onEnd);
    this.#input.off('close', this.#onEnd);
    this.#input.off('error', this.#onError);
    this.#output.off('error', this.#onError);
    return Promise.resolve();
  }

  readonly #onData = (chunk: Buffer): void => this.#events?.data(chunk);
  readonly #onEnd = (): void => this.#gone(`${this.label} ended`);
  readonly #onError = (error: Error): void => this.#gone(reasonOf(error));

  #gone(reason: string): void {
    const events = this.#events;
    this.#events = null;
    events?.closed(reason);
  }
}

const guarded = new WeakSet<Writable>();

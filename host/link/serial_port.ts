import { readSync } from 'node:fs';
import { SerialPort } from 'serialport';
import type { SerialPortMock } from 'serialport';
import { BAUD } from '../../protocol/messages.js';
import type { Clock } from '../clock.js';
import { reasonOf } from '../errors.js';
import { WRITE_WAITING_MAX_bytes } from './byte_port.js';
import type { BytePort, BytePortEvents } from './byte_port.js';
import { ReadPace } from './read_pace.js';

export { listSerialPorts } from './serial_list.js';

/** The library's port over its native binding or over its own mock: the same class with another binding. */
export type LibraryPort = SerialPort | SerialPortMock;
export type MakeLibraryPort = (options: { path: string; baudRate: number; autoOpen: false; lock: true }) => LibraryPort;

const systemPort: MakeLibraryPort = (options) => new SerialPort(options);

/**
 * A serial port, 250 000 baud 8N1, locked for us alone.
 *
 * Opening it pulls DTR, which resets most boards; nothing here can prevent that
 * (hardware-notes has the wiring that does).
 */
export class SerialBytePort implements BytePort {
  readonly label: string;
  remark: string | null = null;
  readonly #port: LibraryPort;
  readonly #pace: ReadPace;
  #events: BytePortEvents | null = null;
  #opening: Promise<void> | null = null;
  #closing: Promise<void> | null = null;

  /** @param clock the machine's: a line does not run faster with the bench */
  constructor(path: string, clock: Clock, make: MakeLibraryPort = systemPort) {
    this.label = path;
    this.#pace = new ReadPace(clock);
    this.#port = make({ path, baudRate: BAUD, autoOpen: false, lock: true });
    // For ever: an error without a listener would end the process, also one that comes after the close.
    this.#port.on('error', (error: Error) => this.#gone(reasonOf(error)));
    this.#port.on('close', (error: Error | null) => this.#gone(error === null ? 'the port was closed' : reasonOf(error)));
  }

  open(events: BytePortEvents): Promise<void> {
    this.#opening ??= this.#open(events);
    return this.#opening;
  }

  async #open(events: BytePortEvents): Promise<void> {
    await new Promise<void>((resolve, reject) => {
      this.#port.open((error) => (error === null ? resolve() : reject(error)));
    });
    this.#events = events;
    this.#paceReads();
    this.#port.on('data', (chunk: Buffer) => this.#events?.data(chunk));
    this.remark = await this.#lowLatency();
  }

  /** The stream reads on by itself as soon as it has handed on what it read: here it is made to wait. */
  #paceReads(): void {
    const { port } = this.#port;
    if (port === undefined) return;
    const read = port.read.bind(port);
    port.read = async (buffer: Buffer, offset: number, length: number) => {
      await this.#pace.turn();
      const got = waiting(port, buffer, offset, length) ?? (await read(buffer, offset, length));
      this.#pace.done();
      return got;
    };
  }

  /** Every flag in one call: each call sets all of them, those left out to defaults. */
  async #lowLatency(): Promise<string | null> {
    const flags = { brk: false, cts: false, dsr: false, dtr: true, rts: true, lowLatency: true };
    try {
      await new Promise<void>((resolve, reject) => {
        this.#port.set(flags, (error) => (error === null ? resolve() : reject(error)));
      });
      const status = await new Promise<object>((resolve, reject) => {
        this.#port.get((error, got) => (error === null ? resolve({ ...got }) : reject(error)));
      });
      return 'lowLatency' in status && status.lowLatency === true
        ? null
        : `${this.label} hands bytes over in lumps (low latency is off); times stay right, their uncertainty grows.`;
    } catch (error) {
      // A pseudo-terminal has no modem lines to set.
      return `${this.label} has no modem lines or latency to set (${reasonOf(error)}).`;
    }
  }

  write(text: string): boolean {
    if (this.#events === null || !this.#port.isOpen || this.#port.writableLength + text.length > WRITE_WAITING_MAX_bytes) return false;
    this.#port.write(text, 'latin1');
    this.#pace.hurry();
    return true;
  }

  close(): Promise<void> {
    this.#events = null;
    this.#closing ??= this.#close();
    return this.#closing;
  }

  async #close(): Promise<void> {
    // A port must not be left open because it was given up while it opened.
    await this.#opening?.catch(() => undefined);
    this.#events = null;
    this.#pace.end();
    if (this.#port.isOpen) await new Promise<void>((resolve) => this.#port.close(() => resolve()));
    else if (this.#port.closing) await new Promise<void>((resolve) => this.#port.once('close', () => resolve()));
    this.#port.destroy();
  }

  #gone(reason: string): void {
    const events = this.#events;
    this.#events = null;
    events?.closed(reason);
  }
}

type Read = Awaited<ReturnType<NonNullable<LibraryPort['port']>['read']>>;

/**
 * What has come already, at the cost of one call: the library goes through another thread for it, and asks before it waits.
 * null: nothing has, or it cannot be read so; then the library waits for it, or meets the same error and says it.
 */
function waiting(port: object, buffer: Buffer, offset: number, length: number): Read | null {
  // Its descriptors do not block. The mock has none, and those of Windows are none.
  if (process.platform === 'win32' || !('fd' in port) || typeof port.fd !== 'number') return null;
  try {
    const bytesRead = readSync(port.fd, buffer, offset, length, null);
    return bytesRead === 0 ? null : { buffer, bytesRead };
  } catch {
    return null;
  }
}

import { mkdirSync, realpathSync } from 'node:fs';
import { join } from 'node:path';
import { fail } from '../errors.js';
import { takeLockFile } from '../lock_file.js';
import type { BytePort, BytePortEvents } from './byte_port.js';

/**
 * A port behind a lock file of ours. The system's own lock comes too late: it is
 * taken after the open, and the open alone resets the board under the program that
 * is using it.
 */
export class LockedPort implements BytePort {
  readonly #port: BytePort;
  readonly #lockFile: string;
  readonly #folder: string;
  #release: (() => void) | null = null;

  constructor(port: BytePort, folder: string) {
    this.#port = port;
    this.#folder = folder;
    this.#lockFile = portLockFile(folder, port.label);
  }

  get label(): string {
    return this.#port.label;
  }

  get remark(): string | null {
    return this.#port.remark;
  }

  /** @throws PORT_TAKEN naming the process, before the port was touched */
  async open(events: BytePortEvents): Promise<void> {
    mkdirSync(this.#folder, { recursive: true });
    const lock = takeLockFile(this.#lockFile);
    if (!lock.taken) throw fail('PORT_TAKEN', { port: this.label, pid: lock.pid ?? 'unknown' });
    this.#release = lock.release;
    try {
      await this.#port.open(events);
    } catch (error) {
      this.#free();
      throw error;
    }
  }

  write(text: string): boolean {
    return this.#port.write(text);
  }

  async close(): Promise<void> {
    if (this.#release === null) return;
    await this.#port.close();
    this.#free();
  }

  #free(): void {
    this.#release?.();
    this.#release = null;
  }
}

/** Where the lock of a port lies. */
export const portLockFile = (folder: string, path: string): string => join(folder, `port-${encodeURIComponent(realPath(path))}.lock`);

/** /dev/serial/by-id/... and /dev/ttyUSB0 are one port and need one lock. */
function realPath(path: string): string {
  try {
    return realpathSync(path);
  } catch {
    return path;
  }
}

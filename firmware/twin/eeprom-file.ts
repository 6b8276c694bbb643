import { existsSync, readFileSync, renameSync, writeFileSync } from 'node:fs';
import { fail, reasonOf } from '../../host/errors.js';

/** Keeps the board's EEPROM between runs of the twin, so that it remembers its name. */
export class EepromFile {
  readonly #file: string;
  #saved: Buffer;

  /** @throws CANNOT_READ */
  constructor(file: string) {
    this.#file = file;
    try {
      this.#saved = existsSync(file) ? readFileSync(file) : Buffer.alloc(0);
    } catch (e) {
      throw fail('CANNOT_READ', { file, reason: reasonOf(e) }, e);
    }
  }

  /** Undefined for a board that was never run. */
  get content(): Uint8Array | undefined {
    return this.#saved.length === 0 ? undefined : Uint8Array.from(this.#saved);
  }

  /**
   * Writes the file if a byte has changed, whole or not at all.
   * @throws CANNOT_WRITE
   */
  save(bytes: Uint8Array): void {
    if (this.#saved.equals(bytes)) return;
    this.#saved = Buffer.from(bytes);
    const beside = `${this.#file}.new`;
    try {
      writeFileSync(beside, this.#saved);
      renameSync(beside, this.#file);
    } catch (e) {
      throw fail('CANNOT_WRITE', { file: this.#file, reason: reasonOf(e) }, e);
    }
  }
}

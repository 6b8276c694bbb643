import type { Chip } from '../chip/chip.js';

/**
 * Bytes on their way to the board, handed to its receiver at the line's rate and not
 * further ahead than asked, so that a flood from the host waits here and not in the
 * chip's agenda.
 */
export class Inbox {
  heard_bytes = 0;
  readonly #chip: Chip;
  readonly #waiting: number[] = [];
  #at = 0;
  #free_cycle = 0;

  constructor(chip: Chip) {
    this.#chip = chip;
  }

  get waiting_bytes(): number {
    return this.#waiting.length - this.#at;
  }

  push(byte: number): void {
    this.#waiting.push(byte);
  }

  /** Files the bytes that begin between `from_cycle` and `to_cycle`. */
  deliver(from_cycle: number, to_cycle: number): void {
    if (this.waiting_bytes === 0) return;
    let cycle = Math.max(this.#free_cycle, from_cycle);
    while (this.#at < this.#waiting.length && cycle < to_cycle) {
      cycle = this.#chip.receiveAll([this.#waiting[this.#at++] as number], cycle);
      this.heard_bytes++;
    }
    this.#free_cycle = cycle;
    if (this.#at === this.#waiting.length) {
      this.#waiting.length = 0;
      this.#at = 0;
    }
  }
}

import type { Clock } from '../clock.js';

/**
 * A board at full rate sends a line every 2 ms. To wake for each costs more than all that is done with it: 4 % of a core, where
 * what comes within this time together costs 1 %. Far less than the eye sees, and than what may be under way (serve/live.ts).
 */
export const READ_EVERY_us = 20_000;
/** An answer comes this soon if it is quick enough to tell the time by (clock_map.ts): until then nothing waits. */
export const ANSWER_WITHIN_us = 30_000;

/** When a port is to be read next: what comes unasked can wait a little, since no message is dated by its arrival; an answer cannot. */
export class ReadPace {
  readonly #clock: Clock;
  #due_us = -Infinity;
  #hurry_us = -Infinity;
  #wake: (() => void) | null = null;

  constructor(clock: Clock) {
    this.#clock = clock;
  }

  /** Something was read. */
  done(): void {
    this.#due_us = this.#clock.monotonic_us() + READ_EVERY_us;
  }

  /** Something was asked: until an answer can be here, each read is due at once. */
  hurry(): void {
    this.#hurry_us = this.#clock.monotonic_us() + ANSWER_WITHIN_us;
    this.#wake?.();
  }

  /** Lets a read that waits go on, and none wait any more. */
  end(): void {
    this.#hurry_us = Infinity;
    this.#wake?.();
  }

  /** Resolves when the next read is due. */
  async turn(): Promise<void> {
    const now_us = this.#clock.monotonic_us();
    if (now_us >= this.#due_us || now_us < this.#hurry_us) return;
    await new Promise<void>((resolve) => {
      const cancel = this.#clock.after(this.#due_us - now_us, () => this.#wake?.());
      this.#wake = () => {
        this.#wake = null;
        cancel();
        resolve();
      };
    });
  }
}

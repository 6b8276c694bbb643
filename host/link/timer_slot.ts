import type { Clock } from '../clock.js';

/** Room for one timer: setting it again replaces the one before, so there are never two. */
export class TimerSlot {
  readonly #clock: Clock;
  #cancel: (() => void) | null = null;

  constructor(clock: Clock) {
    this.#clock = clock;
  }

  set(delay_us: number, action: () => void): void {
    this.clear();
    this.#cancel = this.#clock.after(delay_us, () => {
      this.#cancel = null;
      action();
    });
  }

  clear(): void {
    this.#cancel?.();
    this.#cancel = null;
  }

  get armed(): boolean {
    return this.#cancel !== null;
  }
}

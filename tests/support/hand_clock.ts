import type { Clock } from '../../host/clock.js';

interface Due {
  readonly at_us: number;
  readonly order: number;
  readonly action: () => void;
}

/** A clock that a test moves by hand; the wall can be stepped apart from the rest. */
export class HandClock implements Clock {
  #now_us = 0;
  #wallOffset_us: number;
  #order = 0;
  readonly #due = new Set<Due>();

  constructor(wall_us = Date.UTC(2026, 0, 15, 9) * 1000) {
    this.#wallOffset_us = wall_us;
  }

  monotonic_us(): number {
    return this.#now_us;
  }

  wall_us(): number {
    return this.#wallOffset_us + this.#now_us;
  }

  stepWall(by_us: number): void {
    this.#wallOffset_us += by_us;
  }

  after(delay_us: number, action: () => void): () => void {
    const due = { at_us: this.#now_us + Math.max(0, delay_us), order: this.#order++, action };
    this.#due.add(due);
    return () => this.#due.delete(due);
  }

  get timers(): number {
    return this.#due.size;
  }

  advance(by_us: number): void {
    const until_us = this.#now_us + by_us;
    for (;;) {
      const next = [...this.#due].filter((d) => d.at_us <= until_us).sort((a, b) => a.at_us - b.at_us || a.order - b.order)[0];
      if (next === undefined) break;
      this.#due.delete(next);
      this.#now_us = next.at_us;
      next.action();
    }
    this.#now_us = until_us;
  }
}

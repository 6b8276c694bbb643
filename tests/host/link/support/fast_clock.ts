import { systemClock } from '../../../../host/clock.js';
import type { Clock } from '../../../../host/clock.js';

/**
 * The machine's time, `speed` times as fast, with a wall clock that can be stepped
 * and a count of the timers that are still armed: the link's seconds of patience
 * pass in a test's tenths.
 */
export class FastClock implements Clock {
  readonly #speed: number;
  readonly #start_us = systemClock.monotonic_us();
  wallStep_us = 0;
  armed = 0;

  constructor(speed: number) {
    this.#speed = speed;
  }

  monotonic_us(): number {
    return Math.floor((systemClock.monotonic_us() - this.#start_us) * this.#speed);
  }

  wall_us(): number {
    return 1_700_000_000_000_000 + this.monotonic_us() + this.wallStep_us;
  }

  after(delay_us: number, action: () => void): () => void {
    this.armed++;
    let open = true;
    const close = (): void => {
      if (open) this.armed--;
      open = false;
    };
    const cancel = systemClock.after(delay_us / this.#speed, () => {
      close();
      action();
    });
    return () => {
      close();
      cancel();
    };
  }
}

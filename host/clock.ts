/**
 * The only source of time in host/. Everything that needs a time or a timer is
 * handed a Clock, so that a bench day can run at speed 50 through the very code
 * that runs at 1, and a test can move time by hand.
 */
export interface Clock {
  /** Microseconds since some start, never stepping back. For durations. */
  monotonic_us(): number;
  /** Microseconds since 1970-01-01 UTC. May step: never subtract two of them. */
  wall_us(): number;
  /** Calls `action` once, `delay_us` from now in this clock's time; the result cancels. */
  after(delay_us: number, action: () => void): () => void;
}

/** setTimeout fires at once beyond this delay. */
const TIMER_MAX_ms = 2 ** 31 - 1;

export const systemClock: Clock = {
  monotonic_us: () => Number(process.hrtime.bigint() / 1000n),
  wall_us: () => Date.now() * 1000,
  after(delay_us, action) {
    const timer = setTimeout(action, Math.min(Math.max(0, delay_us / 1000), TIMER_MAX_ms));
    return () => clearTimeout(timer);
  },
};

/**
 * Bench time that runs `speed` times as fast as the machine's, but never past
 * what `allow` has allowed: an emulated board that cannot keep up holds the bench
 * clock back, instead of looking like a board whose crystal is slow.
 */
export class BenchClock implements Clock {
  readonly speed: number;
  readonly #base: Clock;
  readonly #wallStart_us: number;
  #anchorReal_us: number;
  #anchorBench_us = 0;
  #allowed_us = Infinity;

  constructor(speed: number, base: Clock = systemClock) {
    this.speed = speed;
    this.#base = base;
    this.#wallStart_us = base.wall_us();
    this.#anchorReal_us = base.monotonic_us();
  }

  /** Bench time may run up to `limit_us` (this clock's monotonic scale). */
  allow(limit_us: number): void {
    const now_us = this.monotonic_us();
    this.#anchorBench_us = now_us;
    this.#anchorReal_us = this.#base.monotonic_us();
    this.#allowed_us = Math.max(limit_us, now_us);
  }

  monotonic_us(): number {
    const free_us = this.#anchorBench_us + (this.#base.monotonic_us() - this.#anchorReal_us) * this.speed;
    return Math.floor(Math.min(free_us, this.#allowed_us));
  }

  wall_us(): number {
    return this.#wallStart_us + this.monotonic_us();
  }

  after(delay_us: number, action: () => void): () => void {
    const due_us = this.monotonic_us() + delay_us;
    let cancel = (): void => undefined;
    const arm = (): void => {
      const left_us = due_us - this.monotonic_us();
      if (left_us <= 0) action();
      else cancel = this.#base.after(Math.max(1000, left_us / this.speed), arm);
    };
    cancel = this.#base.after(Math.max(0, delay_us) / this.speed, arm);
    return () => cancel();
  }
}

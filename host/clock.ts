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
 * Bench time as the twin has it. The twin's process sets the pace (`speed` times the
 * machine's time, or as fast as it can) and reports how far it has come; between two
 * reports this clock goes on at that speed, but no further than to the next report due. So
 * nothing the board says ever comes from the future, and an emulated board that
 * cannot keep up slows the bench down instead of looking like a slow crystal.
 */
export class BenchClock implements Clock {
  readonly speed: number;
  readonly #base: Clock;
  #leash_us: number;
  readonly #wallStart_us: number;
  #reported_us = 0;
  #reportedAt_us: number;
  #last_us = 0;
  #running = false;

  /** @param leash_us how far it may go past a report: bench time from one to the next, and some for a late one */
  constructor(speed: number, leash_us: number, base: Clock = systemClock) {
    this.speed = speed;
    this.#base = base;
    this.#leash_us = leash_us;
    this.#wallStart_us = base.wall_us();
    this.#reportedAt_us = base.monotonic_us();
  }

  /** The twin has come to `bench_us`, and all that it said until then is on its way. */
  follow(bench_us: number): void {
    this.#reported_us = bench_us;
    this.#reportedAt_us = this.#base.monotonic_us();
    this.#running = true;
  }

  /** The twin has ended: time goes on by itself, so that what is under way can be finished. */
  letGo(): void {
    this.follow(this.monotonic_us());
    this.#leash_us = Infinity;
  }

  monotonic_us(): number {
    const since_us = this.#running ? (this.#base.monotonic_us() - this.#reportedAt_us) * this.speed : 0;
    const now_us = Math.floor(this.#reported_us + Math.min(since_us, this.#leash_us));
    this.#last_us = Math.max(this.#last_us, now_us);
    return this.#last_us;
  }

  wall_us(): number {
    return this.#wallStart_us + this.monotonic_us();
  }

  after(delay_us: number, action: () => void): () => void {
    const due_us = this.monotonic_us() + Math.max(0, delay_us);
    let cancel = (): void => undefined;
    const look = (): void => {
      const left_us = due_us - this.monotonic_us();
      if (left_us <= 0) action();
      else cancel = this.#base.after(Math.max(1000, left_us / this.speed), look);
    };
    cancel = this.#base.after(Math.max(0, delay_us) / this.speed, look);
    return () => cancel();
  }
}

/** Since this process began: how long ago somebody pressed the key that started a command. */
export const sinceStart_us = (): number => Math.round(process.uptime() * 1e6);

/** Lets everything that is ready to run do so, before the caller goes on. */
export const nextTurn = (): Promise<void> => new Promise((resolve) => setImmediate(resolve));

/**
 * The time of a recording, moved by whoever plays it: it stands still until it is
 * told how far the recording has come, and its timers fire on the way there, in order.
 */
export class ReplayClock implements Clock {
  readonly #timers = new Set<{ readonly due_us: number; readonly action: () => void }>();
  #now_us = 0;
  #wallOffset_us: number;

  /** @param wall_us what the wall clock was when the recording began */
  constructor(wall_us: number) {
    this.#wallOffset_us = wall_us;
  }

  monotonic_us(): number {
    return this.#now_us;
  }

  wall_us(): number {
    return this.#wallOffset_us + this.#now_us;
  }

  after(delay_us: number, action: () => void): () => void {
    const timer = { due_us: this.#now_us + Math.max(0, delay_us), action };
    this.#timers.add(timer);
    return () => this.#timers.delete(timer);
  }

  /** Never goes back: a time that has passed moves nothing. */
  advanceTo(us: number): void {
    for (;;) {
      let next: { readonly due_us: number; readonly action: () => void } | null = null;
      for (const timer of this.#timers) if (timer.due_us <= us && (next === null || timer.due_us < next.due_us)) next = timer;
      if (next === null) break;
      this.#timers.delete(next);
      this.#now_us = Math.max(this.#now_us, next.due_us);
      next.action();
    }
    this.#now_us = Math.max(this.#now_us, us);
  }

  /** The wall clock was stepped: it read `wall_us` when the recording was at `us`. */
  stepWall(us: number, wall_us: number): void {
    this.#wallOffset_us = wall_us - us;
  }
}

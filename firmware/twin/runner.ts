import type { Outlet } from './outlet.js';
import { Pace } from './pace.js';

/** What the runner drives. */
export interface Driven {
  readonly t_s: number;
  advance(to_s: number): void;
}

export interface RunnerOptions {
  readonly board: Driven;
  readonly outlet: Outlet;
  readonly speed: number;
  /** Bench time at which the run ends by itself; Infinity: never. */
  readonly end_s: number;
  /** True while the bench should wait for somebody else than the reader of the bytes. */
  readonly mustWait: () => boolean;
  /** Called after every slice. */
  readonly sliceDone: (t_s: number, speed_now: number) => void;
  /** Called about every quarter of a second of wall time. */
  readonly keep: () => void;
  readonly tell: (text: string) => void;
}

const KEEP_every_s = 0.25;
const TELL_every_s = 10;
const WAIT_ms = 1;

/** Runs the board slice by slice at the wanted pace, giving signals, hands and streams their turn in between. */
export class Runner {
  readonly #options: RunnerOptions;
  readonly #pace: Pace;
  #timer: NodeJS.Timeout | NodeJS.Immediate | undefined;
  #kept_s: number;
  #told_s = -Infinity;
  #ended: ((error?: unknown) => void) | undefined;

  constructor(options: RunnerOptions) {
    this.#options = options;
    this.#kept_s = wall_s();
    this.#pace = new Pace(options.speed, this.#kept_s, options.board.t_s);
  }

  /** Resolves when the end of the scenario or a stop() has come; rejects with what a slice threw. */
  run(): Promise<void> {
    return new Promise((done, failed) => {
      this.#ended = (error) => (error === undefined ? done() : failed(error instanceof Error ? error : new Error('a slice failed', { cause: error })));
      this.#soon();
    });
  }

  stop(): void {
    if (this.#timer !== undefined) {
      clearTimeout(this.#timer as NodeJS.Timeout);
      clearImmediate(this.#timer as NodeJS.Immediate);
    }
    this.#ended?.();
    this.#ended = undefined;
  }

  #turn(): void {
    try {
      this.#slice();
    } catch (e) {
      const ended = this.#ended;
      this.#ended = undefined;
      ended?.(e);
    }
  }

  #slice(): void {
    const { board, outlet, end_s, keep, mustWait, sliceDone } = this.#options;
    const now_s = wall_s();
    if (now_s - this.#kept_s >= KEEP_every_s) {
      this.#kept_s = now_s;
      keep();
      this.#tellIfBehind(now_s);
    }
    if (outlet.mustWait(now_s * 1000) || mustWait()) {
      this.#later(WAIT_ms);
      return;
    }
    const { run_to_s, wait_s } = this.#pace.next(now_s, board.t_s);
    if (run_to_s > board.t_s) {
      board.advance(Math.min(run_to_s, end_s));
      sliceDone(board.t_s, this.#pace.speed_now);
    }
    if (board.t_s >= end_s) this.stop();
    else if (wait_s > 0) this.#later(Math.max(1, wait_s * 1000));
    else this.#soon();
  }

  #later(delay_ms: number): void {
    this.#timer = setTimeout(() => this.#turn(), delay_ms);
  }

  #soon(): void {
    this.#timer = setImmediate(() => this.#turn());
  }

  #tellIfBehind(now_s: number): void {
    if (!this.#pace.behind || now_s - this.#told_s < TELL_every_s) return;
    this.#told_s = now_s;
    this.#options.tell(`runs at ${this.#pace.speed_now.toFixed(1)} times real time where ${this.#options.speed} was asked for: this machine does not manage more now`);
  }
}

function wall_s(): number {
  return Number(process.hrtime.bigint()) / 1e9;
}

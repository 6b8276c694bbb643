import type { RandomStream } from './random.js';

const HELD_s = 0.12;
const BOUNCES_MIN = 2;
const BOUNCES_MAX = 6;
const BOUNCE_MIN_s = 0.00005;
const BOUNCE_MAX_s = 0.0006;

/** A push-button whose contact bounces for up to some ms, on the way down and on the way up. */
export class Button {
  readonly #bounce: RandomStream;
  #free_s = -1;

  constructor(bounce: RandomStream) {
    this.#bounce = bounce;
  }

  /**
   * Pressed at `t_s` and let go 0.12 s later. Reports every change of the contact (0: closed) at once,
   * with its time; `first` on the first touch. A press while a finger is on it is none.
   */
  press(t_s: number, sink: (t_s: number, level: 0 | 1, first: boolean) => void): void {
    if (t_s < this.#free_s) return;
    sink(t_s, 0, true);
    this.#chatter(t_s, 0, sink);
    const up_s = t_s + HELD_s;
    sink(up_s, 1, false);
    this.#free_s = this.#chatter(up_s, 1, sink);
  }

  /** Leaves the level and comes back to it a few times; when that is over. */
  #chatter(t_s: number, level: 0 | 1, sink: (t_s: number, level: 0 | 1, first: boolean) => void): number {
    const bounces = BOUNCES_MIN + Math.floor(this.#bounce.uniform() * (BOUNCES_MAX - BOUNCES_MIN + 1));
    let at_s = t_s;
    const next = (): number => (at_s += BOUNCE_MIN_s + this.#bounce.uniform() * (BOUNCE_MAX_s - BOUNCE_MIN_s));
    for (let i = 0; i < bounces; i++) {
      sink(next(), level === 0 ? 1 : 0, false);
      sink(next(), level, false);
    }
    return at_s;
  }
}

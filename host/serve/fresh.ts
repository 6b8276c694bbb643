/** The newest value of a stream, for as long as it is what is measured now. */
export class Fresh<View> {
  #held: { readonly view: View; readonly until_us: number } | null = null;

  /** @param fresh_us how long it holds from `now_us` on */
  take(view: View, now_us: number, fresh_us: number): View {
    this.#held = { view, until_us: now_us + fresh_us };
    return view;
  }

  at(now_us: number): View | null {
    return this.#held !== null && now_us <= this.#held.until_us ? this.#held.view : null;
  }

  /** Lets go of what no longer holds. @returns whether there was such a thing */
  expire(now_us: number): boolean {
    return this.#held !== null && now_us > this.#held.until_us && this.forget();
  }

  /** @returns whether there was something to forget */
  forget(): boolean {
    const had = this.#held !== null;
    this.#held = null;
    return had;
  }
}

/** A value that comes several times a second is old after this. */
const FRESH_us = 2_000_000;
/** One that was set to come more rarely is old when it and the next one are overdue by half. */
const FRESH_PERIODS = 2.5;

/** How long a value of a stream holds whose period can be set: known from ticks and numbers, so no loss makes it longer. */
export class Period {
  #last: { readonly seq: number; readonly tick: number } | null = null;
  #period_tick = 0;

  /** @returns how long this message's value holds */
  fresh_us(seq: number, tick: number, us_per_tick: number): number {
    const steps = this.#last === null ? 0 : (seq - this.#last.seq) & 0xffff;
    if (this.#last !== null && steps > 0) this.#period_tick = (tick - this.#last.tick) / steps;
    this.#last = { seq, tick };
    return Math.max(FRESH_us, FRESH_PERIODS * this.#period_tick * us_per_tick);
  }
}

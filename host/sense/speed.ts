/**
 * turning: an edge came when it was due. slowing: the next one is overdue, the speed
 * is the most that is still possible. stopped: it has been out for so long that the
 * shaft stands. not_measured: no whole revolution has been seen yet.
 */
export type ShaftState = 'turning' | 'slowing' | 'stopped' | 'not_measured';

export interface SpeedReading {
  readonly state: ShaftState;
  /** null: not measured. 0: stands. */
  readonly speed_rpm: number | null;
  /** Time of one revolution at that speed; null when it stands or is not measured. */
  readonly period_s: number | null;
  /** The edge that it rests on. */
  readonly tick: number | null;
}

/** Speed is averaged over the whole revolutions that fit in here, and over one if none does. */
const WINDOW_us = 200_000;
/** Without an edge for this long, and for three times as long as one was due, the shaft stands. */
const STANDS_us = 3_000_000;
const STANDS_PERIODS = 3;
/** The same where no revolution was timed, so that nothing is known to be due: below 2 rev/min it stands. */
const STANDS_UNTIMED_us = 30_000_000;

/**
 * Shaft speed from pickup edges by reciprocal timing: whole revolutions over the time
 * that they took, so that neither uneven magnets nor the engine's own swing within a
 * revolution enter. Between edges it decays: if m magnets send no edge for t, the
 * shaft does less than 60 / (m t) revolutions a minute. Pure: ticks in, readings out.
 */
export class ShaftSpeed {
  readonly magnets: number;
  readonly #ticks: number[] = [];
  #us_per_tick: number;

  /** @param magnets edges in a revolution */
  constructor(magnets: number, us_per_tick: number) {
    this.magnets = magnets;
    this.#us_per_tick = us_per_tick;
  }

  /** The board's clock as it is known now. */
  set us_per_tick(value: number) {
    this.#us_per_tick = value;
  }

  edge(tick: number): void {
    const last = this.#ticks.at(-1);
    if (last !== undefined && tick <= last) return;
    // What lay before a standstill says nothing of the speed after it.
    if (this.at(tick).state === 'stopped') this.#ticks.length = 0;
    this.#ticks.push(tick);
    const old = tick - WINDOW_us / this.#us_per_tick;
    while (this.#ticks.length > this.magnets + 1 && (this.#ticks[0] ?? tick) < old) this.#ticks.shift();
  }

  /** Edges are missing: a revolution that spans the hole cannot be timed. */
  hole(): void {
    this.#ticks.length = 0;
  }

  /** @param tick_now board time for which the speed is asked */
  at(tick_now: number): SpeedReading {
    const n = this.#ticks.length - 1;
    const last = this.#ticks[n];
    if (last === undefined) return this.#nothing(null);
    const since_us = (tick_now - last) * this.#us_per_tick;
    if (n < this.magnets) return since_us > STANDS_UNTIMED_us ? this.#stands(last) : this.#nothing(last);

    const revolution_us = this.#revolution_us(n, last);
    const due_us = this.#longestSector_us(n);
    if (since_us > Math.max(STANDS_us, STANDS_PERIODS * due_us)) return this.#stands(last);
    // Not before the longest sector is over: uneven magnets are no braking.
    const bound_us = since_us > due_us ? since_us * this.magnets : 0;
    const slowing = bound_us > revolution_us;
    const period_us = slowing ? bound_us : revolution_us;
    return { state: slowing ? 'slowing' : 'turning', speed_rpm: 60e6 / period_us, period_s: period_us / 1e6, tick: last };
  }

  #revolution_us(n: number, last: number): number {
    const span_us = (turns: number): number => (last - (this.#ticks[n - turns * this.magnets] ?? last)) * this.#us_per_tick;
    let turns = 1;
    while ((turns + 1) * this.magnets <= n && span_us(turns + 1) <= WINDOW_us) turns++;
    return span_us(turns) / turns;
  }

  #longestSector_us(n: number): number {
    let longest = 0;
    for (let i = n - this.magnets + 1; i <= n; i++) longest = Math.max(longest, (this.#ticks[i] ?? 0) - (this.#ticks[i - 1] ?? 0));
    return longest * this.#us_per_tick;
  }

  #nothing(tick: number | null): SpeedReading {
    return { state: 'not_measured', speed_rpm: null, period_s: null, tick };
  }

  #stands(tick: number): SpeedReading {
    return { state: 'stopped', speed_rpm: 0, period_s: null, tick };
  }
}

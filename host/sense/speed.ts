import { EdgeMarker } from './wheel/marker.js';
import type { Mark, MarkCounts } from './wheel/marker.js';

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
  /** The last edge that counted. */
  readonly tick: number | null;
}

/** Speed is averaged over the whole revolutions that fit in here, and over one if none does. */
const WINDOW_us = 200_000;
/** Without an edge for this long, and for three times as long as one was due, the shaft stands. */
const STANDS_us = 3_000_000;
const STANDS_PERIODS = 3;
/** The same where no revolution was timed, so that nothing is known to be due: below 2 rev/min it stands. */
const STANDS_UNTIMED_us = 30_000_000;

interface Counted {
  readonly tick: number;
  /** Sectors turned since counting began; missing edges are counted in. */
  readonly sector: number;
}

/**
 * Shaft speed from pickup edges by reciprocal timing: whole revolutions over the time
 * that they took, so that neither uneven magnets nor the engine's own swing within a
 * revolution enter, and a mean over time. Edges are judged first (wheel/marker.ts): an
 * extra one counts nothing, a missing one is counted in. Between edges it decays: if m
 * magnets send no edge for t, the shaft does less than 60 / (m t) revolutions a minute.
 * Pure: ticks in, readings out.
 */
export class ShaftSpeed {
  readonly magnets: number;
  readonly #marker: EdgeMarker;
  readonly #counted: Counted[] = [];
  #us_per_tick: number;
  /** Of the last edges between which whole revolutions lay. */
  #revolution_ticks: number | null = null;

  /** @param magnets edges in a revolution */
  constructor(magnets: number, us_per_tick: number) {
    this.magnets = magnets;
    this.#marker = new EdgeMarker(magnets, us_per_tick);
    this.#us_per_tick = us_per_tick;
  }

  /** The board's clock as it is known now. */
  set us_per_tick(value: number) {
    this.#us_per_tick = value;
  }

  /** How the edges were judged so far. */
  get marks(): MarkCounts {
    return this.#marker.counts;
  }

  edge(tick: number): Mark {
    // What lay before a standstill says nothing of the speed after it.
    if (this.at(tick).state === 'stopped') this.hole();
    const mark = this.#marker.edge(tick);
    if (mark === 'double' || mark === 'impossible') return mark;
    const sectors = this.#marker.sectors;
    if (sectors === 0) this.#forget();
    const sector = (this.#counted.at(-1)?.sector ?? 0) + sectors;
    this.#counted.push({ tick, sector });
    const old = tick - WINDOW_us / this.#us_per_tick;
    const needed = sector - 2 * this.magnets;
    while ((this.#counted[0]?.tick ?? tick) < old && (this.#counted[0]?.sector ?? sector) < needed) this.#counted.shift();
    this.#revolution_ticks = this.#revolution() ?? this.#revolution_ticks;
    return mark;
  }

  /** Edges are missing: a revolution that spans the hole cannot be timed. */
  hole(): void {
    this.#marker.begin();
    this.#forget();
  }

  /** @param tick_now board time for which the speed is asked */
  at(tick_now: number): SpeedReading {
    const last = this.#counted.at(-1);
    if (last === undefined) return this.#nothing(null);
    const since_us = (tick_now - last.tick) * this.#us_per_tick;
    if (this.#revolution_ticks === null) return since_us > STANDS_UNTIMED_us ? this.#stands(last.tick) : this.#nothing(last.tick);

    const revolution_us = this.#revolution_ticks * this.#us_per_tick;
    const due_us = this.#longestSector_us(last.sector);
    if (since_us > Math.max(STANDS_us, STANDS_PERIODS * due_us)) return this.#stands(last.tick);
    // Not before the longest sector is over: uneven magnets are no braking.
    const bound_us = since_us > due_us ? since_us * this.magnets : 0;
    const slowing = bound_us > revolution_us;
    const period_us = slowing ? bound_us : revolution_us;
    return { state: slowing ? 'slowing' : 'turning', speed_rpm: 60e6 / period_us, period_s: period_us / 1e6, tick: last.tick };
  }

  #forget(): void {
    this.#counted.length = 0;
    this.#revolution_ticks = null;
  }

  /** Ticks of one: the mean of as many as fit into the window, or of the fewest there are. */
  #revolution(): number | null {
    const last = this.#counted.at(-1);
    if (last === undefined) return null;
    let found: number | null = null;
    for (let i = this.#counted.length - 2; i >= 0; i--) {
      const { tick, sector } = this.#counted[i] as Counted;
      const turns = (last.sector - sector) / this.magnets;
      if (!Number.isInteger(turns)) continue;
      if (found !== null && (last.tick - tick) * this.#us_per_tick > WINDOW_us) break;
      found = (last.tick - tick) / turns;
    }
    return found;
  }

  #longestSector_us(sector_now: number): number {
    let longest = 0;
    for (let i = this.#counted.length - 1; i > 0; i--) {
      const to = this.#counted[i] as Counted;
      if (to.sector <= sector_now - this.magnets) break;
      const from = this.#counted[i - 1] as Counted;
      longest = Math.max(longest, (to.tick - from.tick) / (to.sector - from.sector));
    }
    return longest * this.#us_per_tick;
  }

  #nothing(tick: number | null): SpeedReading {
    return { state: 'not_measured', speed_rpm: null, period_s: null, tick };
  }

  #stands(tick: number): SpeedReading {
    return { state: 'stopped', speed_rpm: 0, period_s: null, tick };
  }
}

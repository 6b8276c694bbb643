import type { DatedMessage, Gap } from '../../link/dated.js';
import type { Gate } from '../steady/gate.js';
import type { Knowledge, Span } from '../span.js';
import { pointOf } from './find_points.js';
import type { Found } from './find_points.js';
import { StretchFinder } from './finder.js';
import type { Told } from './finder.js';
import { GrowingSpan } from './growing.js';
import { PieceCutter } from './pieces.js';
import { pointSettings } from './point.js';
import type { Point, PointSettings } from './point.js';

/** Messages of the slow streams come this late behind edges. */
const LATE_us = 5e5;
/** Kept before what is still wanted: rhythm of the magnets, and what the flow's rate begins from. */
const BEFORE_us = 30e6;

/** The clock of the board and its place in UTC, as they are known now. */
export type LiveClock = Pick<Span, 'us_per_tick' | 'u_us_per_tick' | 'from_utc_us'>;

/**
 * Points of one boot as they come about: the same code, and on the same messages the same points as `examine` finds in
 * their record. Memory is bounded by the longest point. Pure: times are those of the messages.
 */
export class LivePoints {
  readonly #growing: GrowingSpan;
  readonly #cutter: PieceCutter;
  readonly #finder: StretchFinder;
  #knowledge: Knowledge;
  #clock: LiveClock;

  constructor(boot: { readonly boot_id: number; readonly simulated: boolean; readonly tick_from: number }, clock: LiveClock, knowledge: Knowledge, settings: PointSettings = pointSettings()) {
    this.#growing = new GrowingSpan(boot.boot_id, boot.simulated, boot.tick_from);
    this.#cutter = new PieceCutter(knowledge.magnets, clock.us_per_tick, boot.tick_from);
    this.#finder = new StretchFinder(settings, knowledge.inertia_kgm2?.value ?? null, clock.us_per_tick);
    this.#knowledge = knowledge;
    this.#clock = clock;
  }

  /** What is known has changed: a zero, a calibration, an entry. Not the magnets. */
  set knowledge(knowledge: Knowledge) {
    this.#knowledge = knowledge;
  }

  /** @param clock from_utc_us is that of the tick that it began with */
  set clock(clock: LiveClock) {
    this.#clock = clock;
  }

  /** Each criterion with its value, its limit and its time to go, as of the last whole second; null before the first. */
  get gate(): Gate | null {
    return this.#finder.gate;
  }

  /** The stretch that is steady up to now; null: none. */
  get open(): { readonly tick_from: number; readonly tick_to: number } | null {
    return this.#finder.open;
  }

  message(message: DatedMessage): void {
    this.#growing.message(message);
  }

  /** To be told before the message after it. */
  gap(gap: Gap): void {
    this.#growing.gap(gap);
  }

  /** To be asked about once a second: what has come to an end since it was asked last. */
  advance(): Found {
    return this.#until(this.#growing.newest - LATE_us / this.#clock.us_per_tick);
  }

  /** The boot is over: the stretch that is open is closed. @param until the end of what was measured; preset: the last message */
  end(until = this.#growing.newest): Found {
    const found = this.#until(until);
    const last = this.#found([this.#finder.end()]);
    return { points: [...found.points, ...last.points], rejected: [...found.rejected, ...last.rejected] };
  }

  /** The last window as a point with the reason why, whatever the gate says. null: no whole revolution is in it. */
  take(reason: string): Point | null {
    const stretch = this.#finder.take(reason);
    return stretch === null ? null : pointOf(this.#span(), this.#knowledge, stretch);
  }

  #until(until: number): Found {
    const told: Told[] = [];
    for (const piece of this.#cutter.advance(this.#span(), this.#knowledge, until)) told.push(this.#finder.piece(piece));
    told.push(this.#finder.quiet(until));
    const found = this.#found(told);
    const before = BEFORE_us / this.#clock.us_per_tick;
    // A shaft that stands needs nothing of what is older.
    this.#growing.forget(Math.min(Math.max(this.#cutter.needs_tick, until - before), this.#finder.needs_tick) - before);
    return found;
  }

  #found(told: readonly Told[]): Found {
    const stretches = told.flatMap((t) => t.stretches);
    return { points: stretches.map((s) => pointOf(this.#span(), this.#knowledge, s)), rejected: told.flatMap((t) => t.rejected) };
  }

  #span(): Span {
    const { from_utc_us, ...clock } = this.#clock;
    return this.#growing.span(clock, from_utc_us);
  }
}

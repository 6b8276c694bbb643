import { gate } from '../steady/gate.js';
import type { Gate } from '../steady/gate.js';
import type { Reading } from '../steady/trend.js';
import { Between } from './gap.js';
import type { PointSettings, Rejected, Stretch } from './point.js';
import type { Piece } from './pieces.js';
import { trimmed } from './trim.js';

/** What came of a piece: points whose stretch is over, and what lay between. */
export interface Told {
  readonly stretches: readonly Stretch[];
  readonly rejected: readonly Rejected[];
}

const watched = ['speed_rpm', 'torque_Nm', 'hot_C', 'coolant_in_C', 'coolant_out_C'] as const;

interface Telling {
  readonly stretches: Stretch[];
  readonly rejected: Rejected[];
}

/** Longer than this without a whole revolution, the shaft stood or was not seen: the time before says nothing of the time after. */
const BREAK_s = 3;
/** No engine takes so long for a revolution. */
const QUIET_s = 30;
/** Two steady windows that share so much of it are one stretch: no change of the condition can lie between. */
const SHARED = 0.5;

interface Open {
  readonly pieces: Piece[];
  gate: Gate;
}
interface Whole {
  readonly pieces: readonly Piece[];
  readonly gate: Gate;
}

/**
 * Steady stretches among pieces that come one by one. All windows that the gate calls steady and that overlap by half are
 * one stretch; its ends are trimmed of what a window lets pass. Knows no time but that of the pieces: live and from the
 * record it finds the same.
 */
export class StretchFinder {
  readonly #settings: PointSettings;
  readonly #inertia_kgm2: number | null;
  readonly #us_per_tick: number;
  readonly #between: Between;
  /** Of the last window. */
  #window: Piece[] = [];
  readonly #readings: Record<(typeof watched)[number], Reading[]> = { speed_rpm: [], torque_Nm: [], hot_C: [], coolant_in_C: [], coolant_out_C: [] };
  #open: Open | null = null;
  #gate: Gate | null = null;
  #inlet = { sum: 0, n: 0 };
  #override: (Open & { readonly until: number; readonly reason: string }) | null = null;
  #done_tick = -Infinity;

  constructor(settings: PointSettings, inertia_kgm2: number | null, us_per_tick: number) {
    this.#settings = settings;
    this.#inertia_kgm2 = inertia_kgm2;
    this.#us_per_tick = us_per_tick;
    this.#between = new Between(us_per_tick, settings.shortest_s);
  }

  /** As of the last piece; null before the first. */
  get gate(): Gate | null {
    return this.#gate;
  }

  /** The stretch that is steady up to now; null: none. */
  get open(): { readonly tick_from: number; readonly tick_to: number } | null {
    const pieces = this.#open?.pieces;
    const [first, last] = [pieces?.[0], pieces?.at(-1)];
    return first === undefined || last === undefined ? null : { tick_from: first.tick_from, tick_to: last.tick_to };
  }

  /** The rows from here on may still be wanted. */
  get needs_tick(): number {
    return Math.min(this.#window[0]?.tick_from ?? Infinity, this.#open?.pieces[0]?.tick_from ?? Infinity, this.#override?.pieces[0]?.tick_from ?? Infinity);
  }

  piece(piece: Piece): Told {
    const told: Telling = { stretches: [], rejected: [] };
    this.#slide(piece, told);
    if (!Number.isNaN(piece.coolant_in_C)) {
      this.#inlet.sum += piece.coolant_in_C;
      this.#inlet.n++;
    }
    const now = this.#look(piece);
    this.#gate = now;
    this.#between.piece(piece, now);
    if (this.#overridden(piece, now, told)) return told;
    if (now.steady) this.#steady(piece, now, told);
    else this.#unsteady(piece, told);
    return told;
  }

  /** No piece came up to `tick`: a shaft that stands ends what it was in. */
  quiet(tick: number): Told {
    const told: Telling = { stretches: [], rejected: [] };
    const last = this.#window.at(-1);
    if (last === undefined || ((tick - last.tick_to) * this.#us_per_tick) / 1e6 <= QUIET_s) return told;
    this.#closeOverride(told);
    this.#close(told);
    this.#begin();
    this.#gate = null;
    return told;
  }

  /** Nothing more comes. */
  end(): Told {
    const told: Telling = { stretches: [], rejected: [] };
    this.#closeOverride(told);
    this.#close(told);
    const rest = this.#between.until(Infinity, Infinity, null);
    if (rest !== null) told.rejected.push(rest);
    return told;
  }

  /** The last window as a point, whatever the gate says. null: there is nothing in it. */
  take(reason: string): Stretch | null {
    const told: Telling = { stretches: [], rejected: [] };
    const now = this.#gate;
    const pieces = this.#window.filter((p) => p.tick_from >= this.#done_tick);
    if (now === null || pieces.length === 0) return null;
    this.#open = null;
    this.#keep({ pieces, gate: now }, reason, told);
    return told.stretches[0] ?? null;
  }

  #slide(piece: Piece, told: Telling): void {
    const last = this.#window.at(-1);
    if (last !== undefined && ((piece.tick_from - last.tick_to) * this.#us_per_tick) / 1e6 > BREAK_s) {
      this.#close(told);
      this.#begin();
    }
    this.#window.push(piece);
    const since = piece.t_s - this.#settings.gate.window_s;
    let gone = 0;
    while ((this.#window[gone] as Piece).t_s <= since) gone++;
    if (gone > 0) this.#window.splice(0, gone);
  }

  #look(piece: Piece): Gate {
    const since = piece.t_s - this.#settings.gate.window_s;
    for (const channel of watched) {
      const readings = this.#readings[channel];
      if (!Number.isNaN(piece[channel])) readings.push({ t_s: piece.t_s, value: piece[channel] });
      let gone = 0;
      while (gone < readings.length && (readings[gone] as Reading).t_s <= since) gone++;
      if (gone > 0) readings.splice(0, gone);
    }
    return gate(
      {
        ...this.#readings,
        now_s: piece.t_s,
        turns: this.#window.reduce((s, p) => s + p.turns, 0),
        inertia_kgm2: this.#inertia_kgm2,
        inlet_session_mean_C: this.#inlet.n === 0 ? null : this.#inlet.sum / this.#inlet.n,
      },
      this.#settings.gate,
    );
  }

  #begin(): void {
    this.#window = [];
    for (const channel of watched) this.#readings[channel] = [];
  }

  #steady(piece: Piece, now: Gate, told: Telling): void {
    const from = this.#window[0] as Piece;
    const last = this.#open?.pieces.at(-1);
    const shared = last === undefined ? 0 : last.t_s - from.t_s;
    const long = this.#open !== null && piece.t_s - (this.#open.pieces[0] as Piece).t_s > this.#settings.longest_s;
    if (this.#open !== null && (shared < SHARED * this.#settings.gate.window_s || long)) this.#close(told);
    if (this.#open === null) {
      this.#open = { pieces: this.#window.filter((p) => p.tick_from >= this.#done_tick), gate: now };
      return;
    }
    const done = this.#open.pieces.at(-1)?.tick_to ?? 0;
    this.#open.pieces.push(...this.#window.filter((p) => p.tick_from >= done));
    this.#open.gate = now;
  }

  #unsteady(piece: Piece, told: Telling): void {
    const last = this.#open?.pieces.at(-1);
    // No later window can share enough with it.
    if (last !== undefined && piece.t_s - last.t_s > (1 - SHARED) * this.#settings.gate.window_s) this.#close(told);
  }

  /** Whether the piece lies in a stretch that a person has named. */
  #overridden(piece: Piece, now: Gate, told: Telling): boolean {
    if (this.#override !== null && piece.tick_to > this.#override.until) this.#closeOverride(told);
    const named = this.#settings.overrides.find((o) => piece.tick_from >= o.tick_from && piece.tick_to <= o.tick_to);
    if (named === undefined) return false;
    this.#close(told);
    this.#override ??= { pieces: [], gate: now, until: named.tick_to, reason: named.reason };
    this.#override.pieces.push(piece);
    this.#override.gate = now;
    return true;
  }

  #closeOverride(told: Telling): void {
    const named = this.#override;
    this.#override = null;
    if (named !== null) this.#keep(named, named.reason, told);
  }

  #close(told: Telling): void {
    const open = this.#open;
    this.#open = null;
    if (open === null) return;
    const pieces = trimmed(open.pieces, this.#settings.gate.window_s / 4);
    const { shortest_s, turns_least } = this.#settings;
    const long = pieces.reduce((s, p) => s + p.duration_s, 0) >= shortest_s;
    const turned = pieces.reduce((s, p) => s + p.turns, 0) >= turns_least;
    if (long && turned) this.#keep({ pieces, gate: open.gate }, null, told);
  }

  #keep({ pieces, gate: at }: Whole, override: string | null, told: Telling): void {
    const { tick_from } = pieces[0] as Piece;
    const { tick_to } = pieces.at(-1) as Piece;
    const seconds = pieces.reduce((s, p) => s + p.duration_s, 0);
    const rpm = (60 * pieces.reduce((s, p) => s + p.turns, 0)) / seconds;
    const branch = this.#between.branch(rpm, tick_from);
    const gap = this.#between.until(tick_from, tick_to, rpm);
    if (gap !== null) told.rejected.push(gap);
    told.stretches.push({ tick_from, tick_to, branch, criteria: at.criteria, override });
    this.#done_tick = tick_to;
  }
}

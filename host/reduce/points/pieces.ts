import { EdgeMarker } from '../../sense/wheel/marker.js';
import { CONVERSIONS_BACK, meansOver, period_ticks } from '../overlap.js';
import type { Knowledge, Span } from '../span.js';
import { firstAt } from '../values/near.js';
import { soundForces } from '../values/sound.js';
import { rowsOf } from './cut.js';
import { Quick } from './quick.js';

/** One reading of all channels: whole revolutions of about a second. */
export interface Piece {
  readonly tick_from: number;
  readonly tick_to: number;
  /** Its middle, in seconds from where the finder began. */
  readonly t_s: number;
  readonly duration_s: number;
  readonly turns: number;
  readonly speed_rpm: number;
  /** NaN: not measured. */
  readonly torque_Nm: number;
  readonly hot_C: number;
  readonly coolant_in_C: number;
  readonly coolant_out_C: number;
}

const PIECE_s = 1;
/** Conversions after its end that a piece waits for: those that stand for its last turn, and what tells a glitch among them. */
const CONVERSIONS_AFTER = 6;
/** Without conversions there is nothing to wait for. */
const AFTER_LEAST_us = 1e5;
const COVERED_LEAST = 0.7;

/**
 * Cuts the rows of a span, as they come, into pieces of whole revolutions. It keeps ticks and no row numbers, so the span
 * may grow at its end and lose what is old between two calls. What a piece says depends on the rows up to six conversions
 * after it and on nothing later: live and from the record it is the same.
 */
export class PieceCutter {
  readonly #marker: EdgeMarker;
  readonly #origin: number;
  #last = -Infinity;
  #quick: Quick | null = null;
  #known: Knowledge | null = null;
  /** Of the piece that is open: where it began, and sectors since. */
  #from: number | null = null;
  #sectors = 0;

  /** @param tick_origin where t_s counts from */
  constructor(magnets: number, us_per_tick: number, tick_origin: number) {
    this.#marker = new EdgeMarker(magnets, us_per_tick);
    this.#origin = tick_origin;
  }

  /** Where the rows that it still needs begin. */
  get needs_tick(): number {
    return this.#from ?? this.#last;
  }

  /** Pieces that are complete with the rows up to `until`. */
  *advance(span: Span, knowledge: Knowledge, until: number): Generator<Piece> {
    if (knowledge !== this.#known) {
      this.#quick = new Quick({ ...span, from_utc_us: span.from_utc_us === null ? null : span.from_utc_us + (this.#origin - span.tick_from) * span.us_per_tick, tick_from: this.#origin }, knowledge);
      this.#known = knowledge;
    }
    const { edge } = span;
    const rest = after_ticks(span, until);
    const holes = span.holes.filter((h) => h.stream === 'edge' && h.tick_from >= this.#last).map((h) => h.tick_from).sort((a, b) => a - b);
    let hole = 0;
    for (let i = firstAt(edge.tick, edge.n, this.#last + 1); i < edge.n; i++) {
      const tick = edge.tick[i] as number;
      if (tick + rest > until) return;
      if (hole < holes.length && (holes[hole] as number) < tick) {
        while (hole < holes.length && (holes[hole] as number) < tick) hole++;
        this.#marker.begin();
        this.#from = null;
      }
      const piece = this.#edge(span, tick);
      if (piece !== null) yield piece;
    }
  }

  #edge(span: Span, tick: number): Piece | null {
    this.#last = tick;
    const mark = this.#marker.edge(tick);
    if (!this.#marker.rhythmic) {
      this.#from = null;
      return null;
    }
    if (mark !== 'good' && mark !== 'missed') return null;
    if (this.#from === null) {
      this.#from = tick;
      this.#sectors = 0;
      return null;
    }
    this.#sectors += this.#marker.sectors;
    const { magnets } = this.#marker;
    const duration_s = ((tick - this.#from) * span.us_per_tick) / 1e6;
    if (this.#sectors % magnets !== 0 || duration_s < PIECE_s) return null;
    const piece = this.#piece(span, this.#from, tick, this.#sectors / magnets, duration_s);
    this.#from = tick;
    this.#sectors = 0;
    return piece;
  }

  #piece(span: Span, tick_from: number, tick_to: number, turns: number, duration_s: number): Piece {
    const quick = this.#quick as Quick;
    const t_s = (((tick_from + tick_to) / 2 - this.#origin) * span.us_per_tick) / 1e6;
    const { hot, water } = span;
    return {
      tick_from,
      tick_to,
      t_s,
      duration_s,
      turns,
      speed_rpm: (60 * turns) / duration_s,
      torque_Nm: quick.torque_Nm(countOf(span, tick_from, tick_to), t_s),
      hot_C: meanOver(hot, tick_from, tick_to, (i) => quick.hot_C(hot.word[i] as number)),
      coolant_in_C: meanOver(water, tick_from, tick_to, (i) => quick.coolant_C('in', water.in_sum[i] as number, water.in_spread[i] as number)),
      coolant_out_C: meanOver(water, tick_from, tick_to, (i) => quick.coolant_C('out', water.out_sum[i] as number, water.out_spread[i] as number)),
    };
  }
}

/** Time that a piece waits for its last conversions. */
function after_ticks({ force, us_per_tick }: Span, until: number): number {
  const end = firstAt(force.tick, force.n, until + 1);
  const first = Math.max(0, end - 40);
  const period = period_ticks(force.tick.subarray(first, end), end - first);
  return Math.max(AFTER_LEAST_us / us_per_tick, Number.isFinite(period) ? (CONVERSIONS_AFTER + 1) * period : 0);
}

function countOf({ force, us_per_tick }: Span, tick_from: number, tick_to: number): number {
  const first = Math.max(0, firstAt(force.tick, force.n, tick_from) - 1);
  const end = firstAt(force.tick, force.n, tick_to);
  const period = period_ticks(force.tick.subarray(first, end), end - first);
  if (!(period * us_per_tick < 1e6)) return NaN;
  const rows = rowsOf(force, first, firstAt(force.tick, force.n, tick_to + CONVERSIONS_AFTER * period));
  const { good } = soundForces(rows);
  const [mean] = meansOver({ n: rows.n, tick: rows.tick, value: rows.count, good }, [tick_from, tick_to], period, CONVERSIONS_BACK * period);
  return mean !== undefined && mean.covered >= COVERED_LEAST ? mean.mean : NaN;
}

function meanOver(columns: { readonly n: number; readonly tick: Float64Array }, tick_from: number, tick_to: number, value: (i: number) => number): number {
  let sum = 0;
  let n = 0;
  for (let i = firstAt(columns.tick, columns.n, tick_from); i < columns.n && (columns.tick[i] as number) < tick_to; i++) {
    const v = value(i);
    if (Number.isNaN(v)) continue;
    sum += v;
    n++;
  }
  return n === 0 ? NaN : sum / n;
}

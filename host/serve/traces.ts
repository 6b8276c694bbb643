import type { FastifyInstance } from 'fastify';

import { fail } from '../errors.js';
import type { RecordedSpan } from '../store/span.js';
import type { Desk } from './record_acts.js';

/** Of each bin the least, the mean and the most; null: no row fell into it. */
export interface Trace {
  readonly min: (number | null)[];
  readonly mean: (number | null)[];
  readonly max: (number | null)[];
}

/** Raw rows of a stretch, drawn together to what a screen can show. Counts and speeds as they came, no calibration. */
export interface Traces {
  readonly simulated: boolean;
  /** From the beginning of the stretch to the middle of each bin. */
  readonly t_s: number[];
  readonly force_count: Trace;
  /** Over whole turns, each at its end. */
  readonly speed_rpm: Trace;
  /** Less than was asked for where the stretch is longer than LONGEST_s. */
  readonly shown_s: number;
  readonly asked_s: number;
}

/** Reading more would let the daemon pause. */
export const LONGEST_s = 300;
export const BINS = 300;

type Rows = Pick<RecordedSpan, 'simulated' | 'tick_from' | 'tick_to' | 'us_per_tick' | 'magnets' | 'force' | 'edge'>;

/** Pure. Rows beside the stretch are left out. @param asked_s of the whole stretch */
export function tracesOf(span: Rows, asked_s: number): Traces {
  const { tick_from, tick_to, us_per_tick, magnets, force, edge } = span;
  const shown_s = ((tick_to - tick_from) * us_per_tick) / 1e6;
  const bin = (tick: number): number => Math.min(BINS - 1, Math.floor((BINS * (tick - tick_from)) / (tick_to - tick_from)));
  const counts = emptyBins();
  for (let i = 0; i < force.n; i++) put(counts, force.tick[i] as number, force.count[i] as number);
  const speeds = emptyBins();
  for (let i = magnets; i < edge.n; i++) {
    const turn_us = ((edge.tick[i] as number) - (edge.tick[i - magnets] as number)) * us_per_tick;
    if (turn_us > 0) put(speeds, edge.tick[i] as number, 60e6 / turn_us);
  }
  return { simulated: span.simulated, t_s: Array.from({ length: BINS }, (_, k) => ((k + 0.5) * shown_s) / BINS), force_count: traceOf(counts), speed_rpm: traceOf(speeds), shown_s, asked_s };

  function put(bins: Bin[], tick: number, value: number): void {
    if (tick < tick_from || tick > tick_to) return;
    const b = bins[bin(tick)] as Bin;
    b.n++;
    b.sum += value;
    b.min = Math.min(b.min, value);
    b.max = Math.max(b.max, value);
  }
}

interface Bin {
  n: number;
  sum: number;
  min: number;
  max: number;
}
const emptyBins = (): Bin[] => Array.from({ length: BINS }, () => ({ n: 0, sum: 0, min: Infinity, max: -Infinity }));

function traceOf(bins: readonly Bin[]): Trace {
  const of = (pick: (b: Bin) => number): (number | null)[] => bins.map((b) => (b.n === 0 ? null : pick(b)));
  return { min: of((b) => b.min), mean: of((b) => b.sum / b.n), max: of((b) => b.max) };
}

const tick = { type: 'number', minimum: 0 } as const;
const query = { type: 'object', properties: { boot: { type: 'integer', minimum: 1 }, from: tick, to: tick }, required: ['boot', 'from', 'to'], additionalProperties: false } as const;

/** GET /api/traces?boot=&from=&to=, both ends in ticks. */
export function addTraces(app: FastifyInstance, desk: Desk | null): void {
  app.get<{ Querystring: { boot: number; from: number; to: number } }>('/api/traces', { schema: { querystring: query } }, ({ query: { boot, from, to } }) => {
    if (desk === null) throw fail('BOARD_NOT_LIVE', { reason: 'what is served here is no bench but a replay' });
    if (!(to > from)) throw fail('WRONG_USE', { word: 'traces', why: 'must begin before it ends' });
    const { spans } = desk.store;
    // A moment tells the rate of the clock, and by it how far may be read.
    const { us_per_tick } = spans.read({ boot_id: boot, tick_from: from, tick_to: from + 1 });
    const end = Math.min(to, from + (LONGEST_s * 1e6) / us_per_tick);
    return tracesOf(spans.read({ boot_id: boot, tick_from: Math.round(from), tick_to: Math.round(end) }), ((to - from) * us_per_tick) / 1e6);
  });
}

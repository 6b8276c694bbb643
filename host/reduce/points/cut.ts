import type { ForceColumns, Span } from '../span.js';
import { firstAt } from '../values/near.js';

/** What conversions after the end stand for lies within it: at ten a second, six of them. */
const AFTER_us = 7e5;
/** Of the flow meter before: what its rate begins from. */
const FLOW_BEFORE_us = 10e6;
/** Turns before, in which the rhythm of the magnets is found again. */
const TURNS_BEFORE = 8;

/** A part of a span, with the rows about it that its means need. No row is copied. */
export function cut(span: Span, tick_from: number, tick_to: number, magnets: number): Span {
  const { force, edge, hot, water, flow, mark, us_per_tick } = span;
  const after = AFTER_us / us_per_tick;
  const edgesFrom = Math.max(0, firstAt(edge.tick, edge.n, tick_from) - TURNS_BEFORE * magnets - 16);
  const forceFrom = Math.max(0, firstAt(force.tick, force.n, tick_from) - 1);
  return {
    ...span,
    tick_from,
    tick_to,
    from_utc_us: span.from_utc_us === null ? null : span.from_utc_us + (tick_from - span.tick_from) * us_per_tick,
    force: rowsOf(force, forceFrom, firstAt(force.tick, force.n, tick_to + after)),
    edge: rowsOf(edge, edgesFrom, firstAt(edge.tick, edge.n, tick_to + 1)),
    hot: within(hot, tick_from, tick_to),
    water: within(water, tick_from, tick_to),
    flow: within(flow, tick_from - FLOW_BEFORE_us / us_per_tick, tick_to),
    mark: within(mark, tick_from, tick_to),
    holes: span.holes.filter((h) => h.tick_to >= (edge.tick[edgesFrom] ?? tick_from) && h.tick_from <= tick_to + after),
  };
}

/** Rows [first, end) of a stream, as they lie. */
export function rowsOf<C extends ForceColumns | Span['edge'] | Span['hot'] | Span['water'] | Span['flow']>(columns: C, first: number, end: number): C {
  const part: Record<string, unknown> = { n: Math.max(0, end - first) };
  for (const [name, column] of Object.entries(columns)) if (name !== 'n') part[name] = (column as Float64Array).subarray(first, Math.max(first, end));
  return part as unknown as C;
}

function within<C extends ForceColumns | Span['edge'] | Span['hot'] | Span['water'] | Span['flow']>(columns: C, tick_from: number, tick_to: number): C {
  return rowsOf(columns, firstAt(columns.tick, columns.n, tick_from), firstAt(columns.tick, columns.n, tick_to + 1));
}

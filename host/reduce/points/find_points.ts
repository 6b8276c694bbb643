import type { Knowledge, Span } from '../span.js';
import { spanValues } from '../values/span_values.js';
import { cut } from './cut.js';
import { StretchFinder } from './finder.js';
import type { Told } from './finder.js';
import { PieceCutter } from './pieces.js';
import { pointSettings } from './point.js';
import type { Point, PointSettings, Rejected, Stretch } from './point.js';

export interface Found {
  readonly points: readonly Point[];
  readonly rejected: readonly Rejected[];
}

/** All steady points of a span, in order, and why the rest is none. Pure. */
export function examine(span: Span, knowledge: Knowledge, settings: PointSettings = pointSettings()): Found {
  const cutter = new PieceCutter(knowledge.magnets, span.us_per_tick, span.tick_from);
  const finder = new StretchFinder(settings, knowledge.inertia_kgm2?.value ?? null, span.us_per_tick);
  const told: Told[] = [];
  for (const piece of cutter.advance(span, knowledge, newestOf(span))) told.push(finder.piece(piece));
  told.push(finder.end());
  return { points: told.flatMap((t) => t.stretches).map((s) => pointOf(span, knowledge, s)), rejected: told.flatMap((t) => t.rejected) };
}

export const findPoints = (span: Span, knowledge: Knowledge, settings: PointSettings = pointSettings()): Point[] => [...examine(span, knowledge, settings).points];

/** A stretch with its values. @param span that holds its rows, and some before and after */
export const pointOf = (span: Span, knowledge: Knowledge, stretch: Stretch): Point => ({ ...stretch, values: spanValues(cut(span, stretch.tick_from, stretch.tick_to, knowledge.magnets), knowledge) });

/** Newest tick of any stream. */
export function newestOf(span: Span): number {
  return [span.force, span.edge, span.hot, span.water, span.flow, span.mark].reduce((newest, { tick, n }) => Math.max(newest, n === 0 ? -Infinity : (tick[n - 1] as number)), span.tick_to);
}

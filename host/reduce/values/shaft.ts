import { speedReading } from '../../sense/speed_reading.js';
import type { SpeedMean } from '../../sense/speed_reading.js';
import { within } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';
import { limitsOverSd } from '../../sense/uncertainty/source.js';
import { markEdges } from '../../sense/wheel/batch.js';
import type { Span } from '../span.js';
import { idOf } from './near.js';
import { blocksOf, ticksOf, turnsOf, wholeTurns } from './turns.js';
import type { Block } from './turns.js';
import { measured, notMeasured } from './value.js';
import type { Value } from './value.js';

/** turning: over whole revolutions. stands: over time. partly: it stopped or began within the span. unknown: no rhythm, and too short to say that it stands. */
export type ShaftState = 'turning' | 'stands' | 'partly' | 'unknown';

export interface Shaft {
  readonly state: ShaftState;
  readonly speed: Value;
  readonly mean: SpeedMean;
  /** Whole revolutions cut into blocks, by stretch without a break. */
  readonly blocks: readonly (readonly Block[])[];
  readonly turns: number;
  /** Time of those turns. */
  readonly turning_s: number;
}

/** A block is about this long: a scatter of blocks, and not of conversions, shows what a mean of turns is worth. */
const BLOCK_s = 1;
/** At least so many blocks, where there are turns for it. */
export const BLOCKS_LEAST = 8;

/** The tick with the doubt of the map, as a reading of speed wants it. */
export const tickOf = (span: Span): Quantity =>
  within(span.us_per_tick, 'us/tick', span.u_us_per_tick * limitsOverSd.rectangular, { id: `boot ${span.boot_id}: board clock`, says: "board clock, as measured against the computer's", kind: 'systematic' });

export function shaftOf(span: Span, magnets: number): Shaft {
  const { edge, tick_from, tick_to, us_per_tick } = span;
  const holes = span.holes.filter((h) => h.stream === 'edge').map((h) => h.tick_from).sort((a, b) => a - b);
  const edges = markEdges(edge.tick.subarray(0, edge.n), magnets, us_per_tick, undefined, holes);
  const mean = speedReading(edges, { tick_from, tick_to }, tickOf(span), idOf(span));
  const runs = mean.state === 'measured' ? wholeTurns(edges, tick_from, tick_to) : [];
  const turns = turnsOf(runs);
  const turning_s = (ticksOf(runs) * us_per_tick) / 1e6;
  const per = Math.max(1, Math.min(Math.floor(turns / BLOCKS_LEAST), Math.round((turns / turning_s) * BLOCK_s)));
  const state = mean.state === 'measured' ? 'turning' : mean.state === 'stands' ? 'stands' : mean.state === 'partly' ? 'partly' : 'unknown';
  return { state, speed: mean.speed === null ? notMeasured(mean.why) : measured(mean.speed), mean, blocks: blocksOf(runs, per), turns, turning_s };
}

import type { ClockMapPiece } from '../link/dated.js';
import type { Sheet } from './sheet.js';
import { scaled, within } from './uncertainty/quantity.js';
import type { Quantity } from './uncertainty/quantity.js';
import { limitsOverSd } from './uncertainty/source.js';

export interface BoardTime {
  readonly boot_id: number;
  readonly nominal_us_per_tick: number;
  /** What the clock map says of this boot, in order. */
  readonly pieces: readonly ClockMapPiece[];
}

/** A piece so far from the span still tells its rate: a resonator wanders by some parts in a million in that time. */
const NEAR_us = 60e6;
/** Nearer together than this two pieces tell no rate. */
const APART_us = 10e6;

/**
 * Length of a tick over a span of board time, in us: as the clock map measured it, with the map's own uncertainty of its
 * rate; where it knows less than the data sheet (in the first seconds of a boot), nominal within the sheet's limit.
 */
export function tickLength(time: BoardTime, tick_from: number, tick_to: number, sheet: Pick<Sheet, 'crystal_share'>): Quantity {
  const { boot_id, nominal_us_per_tick } = time;
  const source = { id: `boot ${boot_id}: board clock`, kind: 'systematic' as const };
  const limit = sheet.crystal_share;
  const rate = best([...fitted(time, tick_from, tick_to), ...spanned(time, tick_from, tick_to)]);
  if (rate === null || rate.u > (limit * nominal_us_per_tick) / Math.sqrt(3)) {
    const clock = within(1, '', limit, { ...source, says: 'board clock, not yet measured', cure: 'let the board run for some minutes: its clock is measured against the computer\'s' });
    return scaled(clock, nominal_us_per_tick, 'us/tick');
  }
  // The map is what the exchanges leave possible: bounds, and nothing beyond them.
  return within(rate.us_per_tick, 'us/tick', rate.u * limitsOverSd.rectangular, { ...source, says: 'board clock, as measured against the computer\'s' });
}

interface Rate {
  readonly us_per_tick: number;
  readonly u: number;
}

/** The pieces that hold within the span, as fitted. */
function fitted({ pieces }: BoardTime, tick_from: number, tick_to: number): Rate[] {
  const first = Math.max(0, pieces.findLastIndex((p) => p.tick_from <= tick_from));
  return pieces.slice(first).filter((p) => p.tick_from <= tick_to).flatMap(({ us_per_tick, u_ppm }) => (u_ppm === undefined ? [] : [{ us_per_tick, u: u_ppm * 1e-6 * us_per_tick }]));
}

/** From the first to the last piece about the span: for a record that keeps no uncertainty of the rate. */
function spanned({ pieces, nominal_us_per_tick }: BoardTime, tick_from: number, tick_to: number): Rate[] {
  const near = NEAR_us / nominal_us_per_tick;
  const about = pieces.filter((p) => p.tick_from >= tick_from - near && p.tick_from <= tick_to + near);
  const [a, b] = [about[0], about.at(-1)];
  if (a === undefined || b === undefined || a.u_ppm !== undefined) return [];
  const ticks = b.tick_from - a.tick_from;
  if (ticks * nominal_us_per_tick < APART_us) return [];
  return [{ us_per_tick: (b.utc_us - a.utc_us) / ticks, u: Math.hypot(a.u_us, b.u_us) / ticks }];
}

function best(rates: readonly Rate[]): Rate | null {
  return rates.reduce<Rate | null>((least, r) => (least === null || r.u < least.u ? r : least), null);
}

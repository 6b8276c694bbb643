import { marks } from './wheel/marker.js';
import type { MarkedEdges } from './wheel/batch.js';
import { pickupJitter } from './wheel/jitter.js';
import type { Jitter } from './wheel/jitter.js';
import { combine, quantity, within } from './uncertainty/quantity.js';
import type { Quantity } from './uncertainty/quantity.js';
import type { Source } from './uncertainty/source.js';

/** stands: no edge came for long. partly: the shaft turned in a part of the span only. too_short: no whole revolution lies in it. */
export type SpeedState = 'measured' | 'stands' | 'partly' | 'too_short';

export interface SpeedMean {
  /** In rev/min: revolutions over time, so the mean over time of the angular speed, as power needs it. null: not measured. */
  readonly speed: Quantity | null;
  readonly state: SpeedState;
  readonly why: string | null;
  readonly mean: 'over_time';
  /** Mean of the speeds of single revolutions, each counting once: above `speed` where the speed varied. */
  readonly over_revolutions_rpm: number | null;
  readonly revolutions: number;
  /** What was repaired in the span. */
  readonly missed: number;
  readonly extra: number;
  readonly jitter: Jitter | null;
  /** Board time of the edges at both ends. */
  readonly tick_from: number | null;
  readonly tick_to: number | null;
}

const STANDS_us = 3e6;
const STANDS_REVOLUTIONS = 3;
/** Where the scatter was not seen: limit of a pickup dated by the capture unit (common practice, no source). */
const JITTER_UNSEEN_us = 10;

interface Whole {
  readonly turns: number;
  readonly ticks: number;
  readonly from: number;
  readonly to: number;
}

/**
 * Mean speed over a span of marked edges, from whole revolutions between edges of one magnet: spacing and the engine's own
 * swing drop out.
 *
 * @param us_per_tick of the board's clock, with its uncertainty (speed_clock.ts)
 * @param id what makes its own sources unique, e.g. `boot 3, tick 81233`
 */
export function speedReading(edges: MarkedEdges, span: { readonly tick_from: number; readonly tick_to: number }, us_per_tick: Quantity, id: string): SpeedMean {
  const first = firstAt(edges.ticks, span.tick_from);
  const end = firstAt(edges.ticks, span.tick_to + 1);
  const parts = wholes(edges, first, end);
  const turns = parts.reduce((sum, p) => sum + p.turns, 0);
  const ticks = parts.reduce((sum, p) => sum + p.ticks, 0);
  const nothing = { speed: null, mean: 'over_time', over_revolutions_rpm: null, revolutions: turns, ...faults(edges, first, end), jitter: null, tick_from: null, tick_to: null } as const;
  const quiet_us = Math.max(0, span.tick_to - Math.max(span.tick_from, parts.at(-1)?.to ?? span.tick_from)) * us_per_tick.value;
  const stands_us = Math.max(STANDS_us, turns === 0 ? 0 : (STANDS_REVOLUTIONS * ticks * us_per_tick.value) / turns);

  if (end === first && quiet_us >= STANDS_us) {
    // Slower than one sector in that time is all that is known.
    const least_rpm = 60e6 / (quiet_us * edges.magnets);
    const speed = within(0, 'rpm', least_rpm, { id: `${id}: standing`, says: 'a shaft that stands, or turns less than a sector in that time', kind: 'random' });
    return { ...nothing, speed, state: 'stands', why: null, over_revolutions_rpm: 0 };
  }
  if (turns === 0) return { ...nothing, state: 'too_short', why: `no whole revolution lies in ${(((span.tick_to - span.tick_from) * us_per_tick.value) / 1e6).toFixed(3)} s` };
  if (quiet_us >= stands_us) return { ...nothing, state: 'partly', why: `no edge came in the last ${(quiet_us / 1e6).toFixed(1)} s` };

  const jitter = pickupJitter(edges, first, end);
  const rpm = (60e6 * turns) / (ticks * us_per_tick.value);
  const perTick = rpm / ticks;
  const both = Math.SQRT2 * Math.sqrt(parts.length);
  const sources: { source: Source; c_u: number }[] = [
    // Each edge is dated to the tick before it: the difference of two has a triangle of one tick either way.
    { source: { id: `${id}: ticks`, says: 'edges dated in whole ticks', kind: 'random', shape: 'triangular', dof: Infinity }, c_u: (perTick * both) / Math.sqrt(12) },
    jitter === null
      ? { source: { id: `${id}: pickup`, says: 'scatter of the pickup, too few revolutions to see it', kind: 'random', shape: 'rectangular', dof: Infinity, cure: 'average over ten revolutions or more' }, c_u: (perTick * both * JITTER_UNSEEN_us) / us_per_tick.value / Math.sqrt(3) }
      : { source: { id: `${id}: pickup`, says: 'scatter of the pickup, from revolution to revolution', kind: 'random', shape: 'student', dof: jitter.dof }, c_u: perTick * both * jitter.ticks },
  ];
  const speed = combine(rpm, 'rpm', [[us_per_tick, -rpm / us_per_tick.value], [quantity(0, 'rpm', sources), 1]]);
  return {
    ...nothing,
    speed,
    state: 'measured',
    why: null,
    over_revolutions_rpm: meanOfRevolutions(edges, first, end, us_per_tick.value),
    jitter,
    tick_from: parts[0]?.from ?? null,
    tick_to: parts.at(-1)?.to ?? null,
  };
}

/** The longest run of whole revolutions of each stretch within [first, end). */
function wholes({ ticks, stretch, sector, magnets }: MarkedEdges, first: number, end: number): Whole[] {
  const found: Whole[] = [];
  let start = -1;
  let last: Whole | null = null;
  for (let i = first; i < end; i++) {
    const s = stretch[i] as number;
    if (s < 0) continue;
    if (start < 0 || stretch[start] !== s) {
      if (last !== null) found.push(last);
      last = null;
      start = i;
      continue;
    }
    const sectors = (sector[i] as number) - (sector[start] as number);
    if (sectors % magnets === 0) {
      const [from, to] = [ticks[start] as number, ticks[i] as number];
      last = { turns: sectors / magnets, ticks: to - from, from, to };
    }
  }
  if (last !== null) found.push(last);
  return found;
}

function meanOfRevolutions({ ticks, stretch, sector, magnets }: MarkedEdges, first: number, end: number, us_per_tick: number): number | null {
  let sum = 0;
  let turns = 0;
  let at = -1;
  for (let i = first; i < end; i++) {
    if ((stretch[i] as number) < 0) continue;
    if (at < 0 || stretch[at] !== stretch[i]) at = i;
    const sectors = (sector[i] as number) - (sector[at] as number);
    if (sectors === 0 || sectors % magnets !== 0) continue;
    const passed = sectors / magnets;
    sum += (passed * passed * 60e6) / (((ticks[i] as number) - (ticks[at] as number)) * us_per_tick);
    turns += passed;
    at = i;
  }
  return turns === 0 ? null : sum / turns;
}

const code = (mark: (typeof marks)[number]): number => marks.indexOf(mark);
const MISSED = code('missed');
const EXTRA: readonly number[] = [code('double'), code('impossible')];

function faults({ mark }: MarkedEdges, first: number, end: number): { missed: number; extra: number } {
  let missed = 0;
  let extra = 0;
  for (let i = first; i < end; i++) {
    if (mark[i] === MISSED) missed++;
    else if (EXTRA.includes(mark[i] as number)) extra++;
  }
  return { missed, extra };
}

/** Index of the first tick at or after `tick`, by halving. */
function firstAt(ticks: ArrayLike<number>, tick: number): number {
  let low = 0;
  let high = ticks.length;
  while (low < high) {
    const mid = (low + high) >> 1;
    if ((ticks[mid] as number) < tick) low = mid + 1;
    else high = mid;
  }
  return low;
}

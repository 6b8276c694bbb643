import { meanCounts } from '../../sense/load/counts.js';
import { steadyMean } from '../../sense/thermal/noise.js';
import { CONVERSIONS_BACK, meansOver, period_ticks } from '../overlap.js';
import type { Span } from '../span.js';
import { firstAt } from './near.js';
import type { Shaft } from './shaft.js';
import { BLOCKS_LEAST } from './shaft.js';
import { soundForces } from './sound.js';
import type { Block } from './turns.js';

/** Mean count of the load cell over a span. */
export interface SpanCounts {
  /** null: why it is not read. */
  readonly count: number | null;
  readonly reason: string | null;
  readonly u_count: number;
  readonly dof: number;
  readonly sd_count: number;
  readonly n: number;
  readonly flagged: number;
  readonly glitches: number;
  /** Share of the turns (or of the time) for which conversions stand. */
  readonly covered: number;
  /** As measured; NaN with fewer than two conversions. */
  readonly rate_Hz: number;
  /** Means over blocks of whole revolutions. */
  readonly blocks: readonly BlockMean[];
}

export interface BlockMean extends Block {
  readonly count: number;
}

/** A block of which less is covered counts as a hole. */
const COVERED_LEAST = 0.7;
/** Of a longer span the scatter is that of its seconds. */
const CONVERSIONS_MOST = 2000;

/**
 * Over whole revolutions, with fractional weights at their edges and the converter's delay, where the shaft turns; else
 * over time.
 * @param noise_count of one conversion, as a zero shows it
 */
export function countsOf(span: Span, shaft: Shaft, noise_count: number | null): SpanCounts {
  const { force } = span;
  const first = firstAt(force.tick, force.n, span.tick_from);
  const end = firstAt(force.tick, force.n, span.tick_to + 1);
  const period = period_ticks(force.tick.subarray(first), end - first);
  const back = CONVERSIONS_BACK * period;
  // What stands for the last turn comes after it.
  const beyond = firstAt(force.tick, force.n, span.tick_to + (Number.isFinite(back) ? 2 * back : 0) + 1);
  const sound = soundForces(force, Math.max(0, first - 1), beyond);
  const { flagged, glitches, n, sd_count } = sound;
  const rate_Hz = 1e6 / (period * span.us_per_tick);
  const told = { sd_count, n, flagged, glitches, rate_Hz };
  const none = (reason: string | null): SpanCounts => ({ ...told, count: null, reason, u_count: NaN, dof: 0, covered: 0, blocks: [] });
  if (sound.state !== 'read') return none(sound.reason);
  if (shaft.state !== 'turning') return overTime(span, first, end, sound.good, noise_count, told) ?? none('too few conversions came to show their scatter: average longer');

  const samples = { n: force.n, tick: force.tick, value: force.count, good: sound.good };
  const all: (BlockMean & { readonly covered: number; readonly samples: number })[] = [];
  for (const blocks of shaft.blocks) {
    const bounds = [blocks[0]?.tick_from ?? 0, ...blocks.map((b) => b.tick_to)];
    for (const [i, mean] of meansOver(samples, bounds, period, back).entries()) all.push({ ...(blocks[i] as Block), count: mean.mean, covered: mean.covered, samples: mean.samples });
  }
  const kept = all.filter((b) => b.covered >= COVERED_LEAST);
  const ticks = sum(kept.map((b) => b.tick_to - b.tick_from));
  if (ticks === 0) return none('no whole revolution has its conversions');
  // About a count near to all: the mean of large numbers keeps its digits.
  const near = kept[0]?.count ?? 0;
  const count = near + sum(kept.map((b) => (b.count - near) * (b.tick_to - b.tick_from))) / ticks;
  const covered = ticks / sum(all.map((b) => b.tick_to - b.tick_from));
  const conversions = sum(kept.map((b) => b.samples));
  return { ...told, count, reason: null, ...scatterOf(kept.map((b) => b.count), conversions, sd_count, noise_count), covered, blocks: kept };
}

const sum = (values: readonly number[]): number => values.reduce((s, v) => s + v, 0);

/** Of the mean: by the scatter of blocks, their memory counted; of too few, by the noise of conversions. */
function scatterOf(means: readonly number[], conversions: number, sd_count: number, noise_count: number | null): { readonly u_count: number; readonly dof: number } {
  if (means.length >= BLOCKS_LEAST) {
    const { u_mean, dof } = steadyMean(means);
    if (u_mean !== null && u_mean > 0) return { u_count: u_mean, dof };
  }
  const noise = Math.max(noise_count ?? 0, sd_count);
  return { u_count: noise / Math.sqrt(Math.max(1, conversions)), dof: noise_count !== null && noise_count >= sd_count ? Infinity : Math.max(1, conversions - 1) };
}

function overTime(span: Span, first: number, end: number, good: Uint8Array, noise_count: number | null, told: Pick<SpanCounts, 'sd_count' | 'n' | 'flagged' | 'glitches' | 'rate_Hz'>): SpanCounts | null {
  const { count, tick } = span.force;
  const sound: number[] = [];
  for (let i = first; i < end; i++) if (good[i] === 1) sound.push(i);
  const covered = Math.min(1, sound.length / (((span.tick_to - span.tick_from) * span.us_per_tick * told.rate_Hz) / 1e6));
  const rest = { ...told, n: sound.length, reason: null, covered, blocks: [] };
  if (sound.length <= CONVERSIONS_MOST) {
    const mean = meanCounts(sound.map((i) => ({ count: count[i] as number, flags: 0 })), noise_count);
    if (mean.count === null || mean.u_count === null) return null;
    return { ...rest, count: mean.count, u_count: mean.u_count, dof: mean.dof ?? 1 };
  }
  const seconds = new Map<number, { sum: number; n: number }>();
  for (const i of sound) {
    const second = Math.floor((((tick[i] as number) - span.tick_from) * span.us_per_tick) / 1e6);
    const at = seconds.get(second) ?? { sum: 0, n: 0 };
    at.sum += count[i] as number;
    at.n++;
    seconds.set(second, at);
  }
  const means = [...seconds.values()].map((s) => s.sum / s.n);
  return { ...rest, count: sum([...seconds.values()].map((s) => s.sum)) / sound.length, ...scatterOf(means, sound.length, told.sd_count, noise_count) };
}

import { causeOf } from './cause.js';
import type { CauseFound, CauseTerms } from './cause.js';
import { findChanges } from './changes.js';
import type { Change } from './changes.js';
import { features, soundWander } from './features.js';
import type { Feature, FeatureSeries } from './features.js';
import { shiftsOf } from './shifts.js';
import type { Shifts } from './shifts.js';
import type { Wander } from './wander.js';

export interface Moved extends Change {
  readonly feature: Feature;
}

/** Features that began to move at about the same time. */
export interface FadeEvent {
  readonly since_s: number;
  /** When the first of them was seen to have moved. */
  readonly seen_s: number;
  /** In the order in which they began. */
  readonly moved: readonly Moved[];
  /** The first, where its beginning lies clearly before all others; null: several together. */
  readonly first: Feature | null;
  /** Of all features, from before it to `at_s`. */
  readonly at_s: number;
  readonly shifts: Shifts;
  readonly found: CauseFound;
}

export interface EventSettings extends CauseTerms {
  readonly wander: Readonly<Record<Feature, Wander>>;
  readonly z_least: number;
  readonly before_s: number;
  readonly back_s: number;
  /** A cause is decided on what has moved within this, or by the end of the run. */
  readonly decide_s: number;
}

/**
 * z_least: such that over a hundred hours of a sound bench less than one report is made of all features together.
 * before, back, decide: common practice, no source.
 */
export const eventSettings: EventSettings = { law: 'eddy', curve_slope: null, wander: soundWander, z_least: 5, before_s: 300, back_s: 2400, decide_s: 600 };

/** Looked at for changes: speed follows power, and what swings within a turn tells causes apart but is no cause to look. */
const LOOKED_AT: readonly Feature[] = ['power', 'brake', 'hot', 'inlet', 'difference', 'flow', 'skin'];

/** Changes of all features over one stretch at a held brake, those that belong together in one, each with its cause. */
export function fadeEvents(series: FeatureSeries, settings: EventSettings): FadeEvent[] {
  const { wander, z_least, before_s, back_s, decide_s } = settings;
  const moved = LOOKED_AT.flatMap((feature) => findChanges(series[feature], { wander: wander[feature], z_least, before_s, back_s }).map((c): Moved => ({ ...c, feature }))).sort((a, b) => a.seen_s - b.seen_s);
  const end_s = features.reduce((s, f) => Math.max(s, series[f].at(-1)?.t_s ?? 0), 0);
  const groups: Moved[][] = [];
  for (const m of moved) {
    const open = groups.at(-1);
    // What is seen while the cause of an earlier one is still being decided belongs to it.
    if (open !== undefined && m.since_s <= (open[0] as Moved).seen_s + decide_s) open.push(m);
    else groups.push([m]);
  }
  return groups.map((group): FadeEvent => {
    const order = group.sort((a, b) => a.since_s - b.since_s);
    const [one, ...others] = order as [Moved, ...Moved[]];
    const at_s = Math.max(Math.min(one.since_s + decide_s, end_s), Math.min(...group.map((m) => m.seen_s)));
    const shifts = shiftsOf(series, one.since_s, at_s, wander);
    return {
      since_s: one.since_s,
      seen_s: Math.min(...group.map((m) => m.seen_s)),
      moved: order,
      first: others.every((m) => m.since_least_s > one.since_most_s) ? one.feature : null,
      at_s,
      shifts,
      found: causeOf(shifts, settings),
    };
  });
}

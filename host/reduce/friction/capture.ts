import { SmallbrakeError } from '../../errors.js';
import { withPresets } from '../../sense/presets.js';
import { expanded } from '../../sense/uncertainty/coverage.js';
import { markEdges } from '../../sense/wheel/batch.js';
import { cut } from '../points/cut.js';
import type { Knowledge, Span } from '../span.js';
import { wholeTurns } from '../values/turns.js';
import type { TurnRun } from '../values/turns.js';
import { spanValues } from '../values/span_values.js';
import type { Value } from '../values/value.js';
import { fitCoast } from './coast.js';
import type { Slowing } from './coast.js';

/** What counts as a coast-down. Presets: common practice, no source. */
export const coastRows = {
  turns_least: { unit: '', preset: 8, least: 8, most: 10_000, says: 'whole turns in it at least' },
  from_rpm: { unit: 'rpm', preset: 0, least: 0, most: 24_000, says: 'it begins when the speed falls through this; 0: where it begins to fall' },
  to_rpm: { unit: 'rpm', preset: 0, least: 0, most: 24_000, says: 'it ends when the speed falls through this; 0: where it stops falling, or stands' },
  falls_to_share: { unit: '', preset: 0.7, least: 0.05, most: 0.95, says: 'the speed falls to this share of where it began, or farther' },
  torque_most_mNm: { unit: 'mNm', preset: 0.3, least: 0, most: 1000, says: 'the brake torque is at most this, besides its own uncertainty' },
  cold_K: { unit: 'K', preset: 10, least: 0, most: 500, says: 'a hot end that is farther above the coolant than this may drive the engine' },
} as const;
export type CoastName = keyof typeof coastRows;
export type CoastSettings = Readonly<Record<CoastName, number>>;

export const coastSettings = (told: Partial<CoastSettings> = {}): CoastSettings => withPresets(coastRows, told);

/** cold: nothing drives it. hot: the engine's own torque may be in it. unknown: not measured. */
export type HeatState = 'cold' | 'hot' | 'unknown';

export interface Coast {
  readonly boot_id: number;
  readonly simulated: boolean;
  readonly tick_from: number;
  readonly tick_to: number;
  readonly from_utc_us: number | null;
  readonly duration_s: number;
  readonly turns: number;
  readonly from_rpm: number;
  readonly to_rpm: number;
  readonly slowing: Slowing;
  readonly torque_Nm: Value;
  readonly hot_C: Value;
  readonly heat: HeatState;
  readonly warnings: readonly string[];
}

/** A stretch in which the shaft slowed down, and why it is no coast-down. */
export interface NoCoast {
  readonly tick_from: number;
  readonly tick_to: number;
  readonly turns: number;
  readonly from_rpm: number;
  readonly to_rpm: number;
  readonly why: string;
}

/** A turn may be this much shorter than the one before it: jitter of the pickup, one magnet against itself. */
const WOBBLE = 0.002;
/** Nothing slower is followed: a wheel that rocks against its compression has no speed. */
const SLOWEST_share = 0.1;

/**
 * All coast-downs of a span: whole turns that get longer one by one while the brake pulls nothing, from above to below the
 * thresholds. What slowed down under a brake, or too little, is told as none. Pure.
 */
export function findCoasts(span: Span, knowledge: Knowledge, settings: CoastSettings = coastSettings()): { readonly coasts: readonly Coast[]; readonly rejected: readonly NoCoast[] } {
  const { edge, us_per_tick, tick_from, tick_to } = span;
  const holes = span.holes.filter((h) => h.stream === 'edge').map((h) => h.tick_from).sort((a, b) => a - b);
  const edges = markEdges(edge.tick.subarray(0, edge.n), knowledge.magnets, us_per_tick, undefined, holes);
  const coasts: Coast[] = [];
  const rejected: NoCoast[] = [];
  for (const run of wholeTurns(edges, tick_from, tick_to)) {
    for (const falling of fallingIn(run)) {
      const part = between(falling, settings, us_per_tick);
      const said = coastOf(span, knowledge, settings, part);
      if (said === null) continue;
      if ('why' in said) rejected.push(said);
      else coasts.push(said);
    }
  }
  return { coasts, rejected };
}

const rpmAt = ({ tick, turns }: TurnRun, i: number, us_per_tick: number): number => (60e6 * ((turns[i] as number) - (turns[i - 1] as number))) / (((tick[i] as number) - (tick[i - 1] as number)) * us_per_tick);

/** Stretches in which every turn is longer than the one before it, as far as a pickup can tell. */
function fallingIn(run: TurnRun): TurnRun[] {
  const { tick, turns } = run;
  const found: TurnRun[] = [];
  let from = 0;
  let longest = 0;
  const take = (end: number): void => {
    if (end - from > 2) found.push({ tick: tick.slice(from, end), turns: turns.slice(from, end) });
  };
  for (let i = 1; i < tick.length; i++) {
    const period = ((tick[i] as number) - (tick[i - 1] as number)) / ((turns[i] as number) - (turns[i - 1] as number));
    if (period < longest * (1 - WOBBLE)) {
      take(i);
      from = i - 1;
      longest = period;
    } else longest = Math.max(longest, period);
  }
  take(tick.length);
  return found;
}

/** What lies between the thresholds; its first turn left out where none is told, since the hand or the brake was still on it. */
function between(run: TurnRun, { from_rpm, to_rpm }: CoastSettings, us_per_tick: number): TurnRun {
  const first = rpmAt(run, 1, us_per_tick);
  const kept: number[] = [];
  for (let i = 1; i < run.tick.length; i++) {
    const rpm = rpmAt(run, i, us_per_tick);
    if ((from_rpm === 0 ? i > 1 : rpm <= from_rpm) && rpm >= Math.max(to_rpm, SLOWEST_share * first)) kept.push(i);
  }
  const [a, z] = [kept[0] ?? 1, kept.at(-1) ?? 0];
  return { tick: run.tick.slice(a - 1, z + 1), turns: run.turns.slice(a - 1, z + 1) };
}

/** null: hardly slower, or too short to speak of. */
function coastOf(span: Span, knowledge: Knowledge, settings: CoastSettings, run: TurnRun): Coast | NoCoast | null {
  const last = run.tick.length - 1;
  if (last < 2) return null;
  const [tick_from, tick_to] = [run.tick[0] as number, run.tick[last] as number];
  const [from_rpm, to_rpm] = [rpmAt(run, 1, span.us_per_tick), rpmAt(run, last, span.us_per_tick)];
  const turns = (run.turns[last] as number) - (run.turns[0] as number);
  const place = { tick_from, tick_to, turns, from_rpm, to_rpm };
  const not = (why: string): NoCoast => ({ ...place, why });
  if (to_rpm > settings.falls_to_share * from_rpm) return null;
  if (turns < settings.turns_least) return not(`only ${turns} whole turns, ${settings.turns_least} are needed: spin it faster before letting go`);
  if (settings.from_rpm > 0 && from_rpm < settings.from_rpm * 0.9) return not(`it began at ${from_rpm.toFixed(0)} rpm, below the threshold of ${settings.from_rpm} rpm`);
  if (settings.to_rpm > 0 && to_rpm > settings.to_rpm * 1.1) return not(`it ended at ${to_rpm.toFixed(0)} rpm, above the threshold of ${settings.to_rpm} rpm`);
  const values = spanValues(cut(span, tick_from, tick_to, knowledge.magnets), knowledge);
  const braked = values.torque_Nm.quantity;
  // With an inertia known, torque is what the engine gives: the brake's own is that less what speeds the wheel up.
  const atBrake = braked === null ? null : braked.value - (values.acceleration?.torque?.value ?? 0);
  const allowed = braked === null ? 0 : settings.torque_most_mNm * 1e-3 + expanded(braked).U;
  if (atBrake !== null && Math.abs(atBrake) > allowed) return not(`the brake pulled ${(1e3 * atBrake).toFixed(1)} mNm, at most ${(1e3 * allowed).toFixed(1)} mNm may be: let go of it`);
  let slowing: Slowing;
  try {
    slowing = fitCoast(run.tick.map((t) => ((t - tick_from) * span.us_per_tick) / 1e6), run.turns).best;
  } catch (thrown) {
    if (thrown instanceof SmallbrakeError && thrown.code === 'COAST_UNFIT') return not(String(thrown.values['why'] ?? thrown.message));
    throw thrown;
  }
  const heat = heatOf(values.hot_C, values.coolant_in_C, settings);
  return {
    ...place,
    boot_id: span.boot_id,
    simulated: span.simulated,
    from_utc_us: span.from_utc_us === null ? null : span.from_utc_us + (tick_from - span.tick_from) * span.us_per_tick,
    duration_s: ((tick_to - tick_from) * span.us_per_tick) / 1e6,
    slowing,
    torque_Nm: values.torque_Nm,
    hot_C: values.hot_C,
    heat,
    warnings: [
      braked === null ? `whether the brake was off is not known: ${values.torque_Nm.reason ?? 'torque is not measured'}` : null,
      heat === 'hot' ? `the hot end was at ${(values.hot_C.quantity?.value ?? NaN).toFixed(0)} C: the engine's own torque is in it, friction is more` : null,
      heat === 'unknown' ? 'whether the hot end was cold is not known' : null,
    ].filter((w) => w !== null),
  };
}

function heatOf(hot: Value, coolant: Value, { cold_K }: CoastSettings): HeatState {
  if (hot.quantity === null) return 'unknown';
  return hot.quantity.value - (coolant.quantity?.value ?? ROOM_C) > cold_K ? 'hot' : 'cold';
}

/** Where the coolant is not measured. */
const ROOM_C = 20;

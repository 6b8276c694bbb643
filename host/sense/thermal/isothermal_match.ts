import { coefficientsOf } from '../calibration/model.js';
import type { MatchModel } from '../calibration/model.js';
import type { Sheet } from '../sheet.js';
import { expanded } from '../uncertainty/coverage.js';
import { also, within } from '../uncertainty/quantity.js';
import { differenceSpan, meanBath_C } from './coolant_difference.js';
import type { CoolantIds, CoolantModels, CoolantSums } from './coolant_difference.js';
import { systematic } from './ids.js';
import { steadyMean } from './noise.js';

export type MatchResult =
  | { readonly state: 'matched'; readonly model: MatchModel; readonly offset_K: number; readonly u_noise_K: number; readonly drift_K_per_min: number; readonly warning: string | null }
  | { readonly state: 'refused'; readonly reason: string };

/** Both sensors in one bath for a minute at least. */
const LEAST_s = 60;
const LEAST_n = 20;
/** What a bath may move in a minute: the gate for a steady coolant. */
const MOVES_K_per_min = 0.1;
/** Two like beads follow a bath within this of each other (common practice, no source). */
const LAG_s = 3;
/** A standard uncertainty from the converter's steps that is worth another try. */
const STANDS_STILL_K = 0.02;
/** Beyond this share of certainty the parts are not what the sheet says, or the bath is not one. */
const IMPLAUSIBLE = 0.999;

/**
 * Offset of two coolant sensors in one bath: out less in. It keeps every source as it was in the bath, so that what the
 * parts are off by cancels when the offset is taken from a difference.
 *
 * @param rows of one span, evenly spaced
 * @param duration_s from the first row to the last
 */
export function isothermalMatch(rows: readonly CoolantSums[], duration_s: number, models: CoolantModels, sheet: Sheet, ids: CoolantIds): MatchResult {
  const refused = (reason: string): MatchResult => ({ state: 'refused', reason });
  if (rows.length < LEAST_n || duration_s < LEAST_s) return refused(`${rows.length} messages over ${duration_s.toFixed(0)} s are too few: leave both sensors in the bath for ${LEAST_s} s`);
  const span = differenceSpan(rows, models, sheet, ids);
  for (const one of [span.in, span.out]) if (one.reason !== null) return refused(one.reason);
  if (span.quantity === null) return refused('a sensor gives no temperature');

  const per_min = 60 / duration_s;
  const bath = steadyMean(meanBath_C(span));
  const drift_K_per_min = bath.drift * per_min;
  if (Math.abs(drift_K_per_min) > MOVES_K_per_min) {
    return refused(`the bath ${drift_K_per_min > 0 ? 'warms' : 'cools'} by ${Math.abs(drift_K_per_min).toFixed(2)} K a minute, ${MOVES_K_per_min} K is the most: stir it and wait`);
  }
  const apart = steadyMean(span.differences_K);
  const apart_K_per_min = apart.drift * per_min;
  if (Math.abs(apart_K_per_min) > MOVES_K_per_min) {
    return refused(`the two sensors move apart by ${Math.abs(apart_K_per_min).toFixed(2)} K a minute, ${MOVES_K_per_min} K is the most: are both in the same bath?`);
  }
  const offset_K = span.quantity.value;
  const { U } = expanded(span.quantity, IMPLAUSIBLE);
  if (Math.abs(offset_K) > U) {
    return refused(`out reads ${offset_K.toFixed(2)} K ${offset_K > 0 ? 'above' : 'below'} in, and parts as the sheet says them stand apart by ${U.toFixed(2)} K at most: are both in the same bath, and the sheet right?`);
  }
  const lag_K = (Math.abs(drift_K_per_min) / 60) * LAG_s;
  const offset = also(span.quantity, within(0, 'K', lag_K, systematic(`${ids.span}: bath moved`, 'the bath moved during the match', 'stir the bath and wait')));
  const steps_K = Math.hypot(span.in.step_u_K, span.out.step_u_K);
  return {
    state: 'matched',
    model: { kind: 'isothermal', at_C: bath.mean, errors: [], ...coefficientsOf([onceOnly(offset)]) },
    offset_K,
    u_noise_K: apart.u_mean ?? 0,
    drift_K_per_min,
    warning: steps_K > STANDS_STILL_K ? `the readings stand still on steps of the converter, which leaves ${steps_K.toFixed(3)} K: match with the bath a little warmer, or moving slowly` : null,
  };
}

/** What was drawn once in the bath stays the same in every reading that uses the offset. */
function onceOnly(offset: ReturnType<typeof also>): typeof offset {
  return { ...offset, parts: offset.parts.map((p) => (p.source.kind === 'random' ? { ...p, source: { ...p.source, id: `${p.source.id} (match)`, kind: 'systematic' as const, says: `${p.source.says}, when matched` } } : p)) };
}

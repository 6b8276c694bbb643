import { expanded } from '../uncertainty/coverage.js';
import type { Quantity } from '../uncertainty/quantity.js';

/** no_heat: nothing flows that could tell. cannot_tell: too few readings, or within their doubt. */
export type SwappedState = 'no_heat' | 'cannot_tell' | 'right' | 'looks_swapped';

/** So many readings in a row, each beyond its own interval. */
const IN_A_ROW = 3;

/**
 * Whether coolant in and out look swapped: heat goes into the coolant, and out stays below in by more than the doubt.
 * Evidence for the builder, never a correction.
 *
 * @param differences_K out less in of spans that follow each other, newest last
 * @param heat_flows hot end well above the coolant, pump on
 */
export function swappedSensors(differences_K: readonly Quantity[], heat_flows: boolean): { readonly state: SwappedState; readonly evidence: string } {
  if (!heat_flows) return { state: 'no_heat', evidence: 'no heat goes into the coolant, so in and out cannot be told apart' };
  const last = differences_K.slice(-IN_A_ROW);
  if (last.length < IN_A_ROW) return { state: 'cannot_tell', evidence: `${last.length} readings of the difference, ${IN_A_ROW} are needed` };
  const each = last.map((q) => ({ K: q.value, U: expanded(q).U }));
  const shown = each.map(({ K, U }) => `${K.toFixed(2)} K (+-${U.toFixed(2)})`).join(', ');
  if (each.every(({ K, U }) => K + U < 0)) return { state: 'looks_swapped', evidence: `coolant in and out look swapped: heat goes in, and out less in was ${shown}` };
  return { state: each.every(({ K, U }) => K - U > 0) ? 'right' : 'cannot_tell', evidence: `out less in was ${shown}` };
}

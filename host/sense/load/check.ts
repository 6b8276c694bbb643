import { expanded } from '../uncertainty/coverage.js';
import { difference } from '../uncertainty/quantity.js';
import type { Quantity } from '../uncertainty/quantity.js';

/** A known mass hung to see that the calibration still holds. */
export interface MassCheck {
  readonly expected: number;
  readonly read: number;
  readonly unit: string;
  /** Read less expected. */
  readonly off: number;
  /** 95 %, of the difference: what both share cancels. */
  readonly U_off: number;
  /** |off| over U_off: up to 1 is what both doubts allow. */
  readonly En: number;
  readonly passed: boolean;
  readonly says: string;
}

/** @param expected by hungLoads, of one unit with @param read by loadReading: torque in place, else force */
export function checkMass(expected: Quantity, read: Quantity): MassCheck {
  const off = difference(read, expected);
  const { U } = expanded(off, 0.95);
  const En = U > 0 ? Math.abs(off.value) / U : off.value === 0 ? 0 : Infinity;
  const passed = En <= 1;
  const numbers = `reads ${read.value.toPrecision(5)} ${read.unit}, ${Math.abs(off.value).toPrecision(2)} ${off.value < 0 ? 'below' : 'above'} the ${expected.value.toPrecision(5)} expected; up to ${U.toPrecision(2)} is allowed`;
  const says = passed ? `The check mass passes: it ${numbers}.` : `The check mass fails: it ${numbers}. See whether the right mass hangs freely and the arm moves, take a new zero, and calibrate again if it still fails.`;
  return { expected: expected.value, read: read.value, unit: read.unit, off: off.value, U_off: U, En, passed, says };
}

/** How old a check may be, or how soon it must follow, to speak for a run (common practice, no source). */
export const CHECK_WITHIN_h = 24;

/** Whether a run can be called verified, and if not, what it lacks. */
export function verified(terms: { readonly zeros_enclose: boolean; readonly check: { readonly passed: boolean | null; readonly apart_h: number } | null }): { readonly verified: boolean; readonly lacks: readonly string[] } {
  const lacks: string[] = [];
  if (!terms.zeros_enclose) lacks.push('a zero before and after');
  const { check } = terms;
  if (check === null || Math.abs(check.apart_h) > CHECK_WITHIN_h) lacks.push(`a check mass within ${CHECK_WITHIN_h} h`);
  else if (check.passed !== true) lacks.push('a check mass that passed');
  return { verified: lacks.length === 0, lacks };
}

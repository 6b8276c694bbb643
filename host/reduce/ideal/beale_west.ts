import { combine } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';

/** A number that sets an engine's size, pressure and speed aside, so that engines can be compared. */
export interface Similarity {
  readonly number: Quantity;
  /** More than good engines reach: see to what went in before it is believed. */
  readonly flag: string | null;
}

/**
 * Good engines have 0.11 to 0.15 (K. Hirata, model engines; G. Walker), the mean of West's number is 0.25 and good ones
 * reach 0.35 (ORNL/TM-10475). Power in W over Pa m3 Hz: with bar cm3 Hz the number is ten times smaller.
 */
export const BEALE_MOST = 0.15;
export const WEST_MOST = 0.35;

/** The volume that a similarity number is taken with; which one it is must be named beside it. */
export interface SweptVolume {
  readonly cm3: number;
  readonly says: string;
}

/** Shaft power over mean pressure, swept volume and frequency. @param mean_Pa absolute */
export function bealeNumber(power_W: Quantity, mean_Pa: Quantity, swept: SweptVolume, speed_rpm: Quantity): Similarity {
  const value = power_W.value / (mean_Pa.value * swept.cm3 * 1e-6 * (speed_rpm.value / 60));
  const number = combine(value, '', [
    [power_W, value / power_W.value],
    [mean_Pa, -value / mean_Pa.value],
    [speed_rpm, -value / speed_rpm.value],
  ]);
  return { number, flag: flagOf('Beale', value, BEALE_MOST, swept) };
}

/** Beale's number without what the temperatures give: times (Th + Tc) / (Th - Tc). @param hot_K, cold_K of the walls */
export function westNumber(beale: Quantity, hot_K: Quantity, cold_K: Quantity, swept: SweptVolume): Similarity {
  const [h, c] = [hot_K.value, cold_K.value];
  const factor = (h + c) / (h - c);
  const number = combine(beale.value * factor, '', [
    [beale, factor],
    [hot_K, (-2 * c * beale.value) / (h - c) ** 2],
    [cold_K, (2 * h * beale.value) / (h - c) ** 2],
  ]);
  return { number, flag: flagOf('West', number.value, WEST_MOST, swept) };
}

function flagOf(whose: string, value: number, most: number, { says }: SweptVolume): string | null {
  return value > most ? `${whose}'s number of ${value.toPrecision(2)} is above the ${most} that good engines reach: see to the swept volume (${says}), the mean pressure (absolute), the magnets, and whether this is brake power` : null;
}

import { fail } from '../../errors.js';
import { positive } from './within.js';

/**
 * A thermistor and a fixed resistor across the supply that is also the converter's
 * reference, so that the supply cancels: ratio = voltage at their joint / supply.
 */
export interface Divider {
  readonly fixed_ohm: number;
  /** Where the fixed resistor goes; the thermistor goes to the other one. */
  readonly fixed_to: 'supply' | 'ground';
}

const SEE_TO = 'at an end of the range a wire is off or shorted, see to the thermistor and its plug';

/** @throws OUT_OF_RANGE for a ratio that is not between 0 and 1 */
export function thermistorOfRatio_ohm(ratio: number, { fixed_ohm, fixed_to }: Divider): number {
  positive('The fixed resistor', fixed_ohm, 'ohm', 'take it from its colour rings');
  between0And1(ratio);
  return fixed_to === 'supply' ? (fixed_ohm * ratio) / (1 - ratio) : (fixed_ohm * (1 - ratio)) / ratio;
}

/** @throws OUT_OF_RANGE */
export function ratioOfThermistor(R_ohm: number, { fixed_ohm, fixed_to }: Divider): number {
  positive('The fixed resistor', fixed_ohm, 'ohm', 'take it from its colour rings');
  positive('The resistance of a thermistor', R_ohm, 'ohm', 'see to the thermistor');
  return (fixed_to === 'supply' ? R_ohm : fixed_ohm) / (R_ohm + fixed_ohm);
}

/** dR/dratio in ohm; with the fixed resistor to ground it is below 0. @throws OUT_OF_RANGE */
export function ohmPerRatio(ratio: number, { fixed_ohm, fixed_to }: Divider): number {
  between0And1(ratio);
  return fixed_to === 'supply' ? fixed_ohm / (1 - ratio) ** 2 : -fixed_ohm / ratio ** 2;
}

/** Power in W that heats the thermistor itself; over its dissipation constant (W/K, data sheet) it is how much too warm it reads. */
export function selfHeating_W(R_ohm: number, { fixed_ohm }: Divider, supply_V: number): number {
  return (supply_V * supply_V * R_ohm) / (R_ohm + fixed_ohm) ** 2;
}

function between0And1(ratio: number): void {
  if (ratio > 0 && ratio < 1) return;
  throw fail('OUT_OF_RANGE', { what: 'The ratio of a thermistor input', value: ratio, unit: 'of its supply', limit: 'above 0 and below 1', todo: SEE_TO });
}

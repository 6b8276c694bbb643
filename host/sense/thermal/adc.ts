import type { Sheet } from '../sheet.js';
import { quantity } from '../uncertainty/quantity.js';
import type { Part, Quantity } from '../uncertainty/quantity.js';
import { limitsOverSd } from '../uncertainty/source.js';
import { systematic } from './ids.js';

/** Halvings of the range down to one step of a converter of 10 bits. */
const LEVELS = 10;

/**
 * Errors of the board's one analog converter at a share of its range, in steps (LSB). All inputs share them: what two
 * sensors at nearly the same code have of them is nearly the same.
 *
 * The nonlinearity is one unknown curve whose steps err independently and add up, tied at both ends: a Brownian bridge,
 * as large as its limit in the middle of the range. By its Faber-Schauder series it is a sum of independent hats, one of
 * each width over any code, so two codes share those that are wide.
 */
export function adcErrors_LSB(share: number, sheet: Sheet, rig: string): Quantity {
  const offset = `${rig}: adc offset`;
  const gain = `${rig}: adc gain`;
  const limits: Part[] = [
    { source: { ...systematic(offset, "the analog converter's offset"), shape: 'rectangular', dof: Infinity }, c_u: sheet.adc_offset_LSB / limitsOverSd.rectangular },
    { source: { ...systematic(gain, "the analog converter's gain"), shape: 'rectangular', dof: Infinity }, c_u: (sheet.adc_gain_LSB * share) / limitsOverSd.rectangular },
  ];
  const u = sheet.adc_nonlinearity_LSB / limitsOverSd.rectangular;
  const id = `${rig}: adc nonlinearity`;
  const curve = Array.from({ length: LEVELS }, (_, j): Part => {
    const along = share * 2 ** j;
    const k = Math.floor(along);
    const hat = 1 - Math.abs(2 * (along - k) - 1);
    return {
      source: { ...systematic(`${id} #${j}.${k}`, "the analog converter's nonlinearity"), estimate: id, shape: 'normal', dof: Infinity },
      // The bridge has a variance of 1/4 in the middle.
      c_u: 2 * u * 2 ** (-j / 2 - 1) * hat,
    };
  });
  return quantity(0, 'LSB', [...limits, ...curve]);
}

import type { Sheet } from '../sheet.js';
import { quantity } from '../uncertainty/quantity.js';
import type { Part, Quantity } from '../uncertainty/quantity.js';
import { limitsOverSd } from '../uncertainty/source.js';
import { systematic } from './ids.js';

const HARMONICS = 8;
const WEIGHTS = Array.from({ length: HARMONICS }, (_, k) => 1 / (k + 1) ** 2);
const WEIGHT = WEIGHTS.reduce((a, b) => a + b, 0);

/**
 * Errors of the board's one analog converter at a share of its range, in steps (LSB). All inputs share them: what two
 * sensors at nearly the same code have of them is nearly the same.
 *
 * The nonlinearity is one unknown curve. Its steps add up along the range, so it is taken as a Fourier series with sizes
 * falling as 1/k (those of a random walk that is tied at both ends): as large as its limit at every code, alike at
 * neighbouring codes, unrelated a quarter of the range away.
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
  const curve = WEIGHTS.flatMap((w, i) => {
    const size = u * Math.sqrt(w / WEIGHT);
    const turn = 2 * Math.PI * (i + 1) * share;
    return [Math.cos(turn), Math.sin(turn)].map((c, k): Part => ({
      source: { ...systematic(`${id} #${2 * i + k}`, "the analog converter's nonlinearity"), estimate: id, shape: 'normal', dof: Infinity },
      c_u: size * c,
    }));
  });
  return quantity(0, 'LSB', [...limits, ...curve]);
}

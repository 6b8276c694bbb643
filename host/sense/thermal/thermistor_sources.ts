import type { Coefficients } from '../calibration/model.js';
import { stored } from '../calibration/model.js';
import { limitsOverSd } from '../uncertainty/source.js';
import type { Source } from '../uncertainty/source.js';
import { systematic } from './ids.js';

/** c0 to c3 of 1/T over ln R. */
export type Cubic = readonly [number, number, number, number];
type Row = Coefficients['sources'][number];

export interface PartTolerance {
  /** Half-width of R at t0_C, as a share. */
  readonly ohm_share: number;
  /** Half-width of B, as a share. */
  readonly beta_share: number;
  /** Where the data sheet gives R, mostly 25 C. */
  readonly R0_ohm: number;
}

/** A limit as a source of the coefficients: to each what one standard uncertainty does. */
export function limitRow(id: string, says: string, c_half: readonly number[], cure?: string): Row {
  const source: Source = { ...systematic(id, says, cure), shape: 'rectangular', dof: Infinity };
  return { source: stored(source), c_u: c_half.map((c) => c / limitsOverSd.rectangular) };
}

/** 1/T with ln R taken too large by d(ln R) = 1, as polynomial in ln R. */
function shifted([, c1, c2, c3]: Cubic): Cubic {
  return [c1, 2 * c2, 3 * c3, 0];
}

/** The same with ln R taken too large by (ln R - L0): a part whose B is off by that share. */
function stretched([, c1, c2, c3]: Cubic, L0: number): Cubic {
  return [-c1 * L0, c1 - 2 * c2 * L0, 2 * c2 - 3 * c3 * L0, 3 * c3];
}

/**
 * What one part may be off its data sheet, whatever its curve is. Parts of one bag may be alike, but no data sheet says
 * so: each has its own sources, by `sensor`.
 */
export function partRows(c: Cubic, { ohm_share, beta_share, R0_ohm }: PartTolerance, sensor: string): Row[] {
  const cure = 'match the two sensors in one bath';
  return [
    limitRow(`${sensor}: thermistor R`, "tolerance of the thermistor's resistance", shifted(c).map((x) => x * ohm_share), cure),
    limitRow(`${sensor}: thermistor B`, "tolerance of the thermistor's B", stretched(c, Math.log(R0_ohm)).map((x) => x * beta_share), cure),
  ];
}

/** The fixed resistor's tolerance is one of R, since R is fixed resistor times what the ratio says. */
export function fixedResistorRow(c: Cubic, fixed_share: number, sensor: string): Row {
  return limitRow(`${sensor}: fixed resistor`, 'tolerance of the fixed resistor', shifted(c).map((x) => x * fixed_share), 'measure it, and enter its value');
}

import type { ErrorTerm, StoredSource } from '../calibration/model.js';
import type { Sheet } from '../sheet.js';
import type { Scatter } from './calibrate.js';
import type { LoadFit } from './fit.js';
import type { Solved } from './solve.js';

export interface TermsAsked {
  readonly fit: LoadFit;
  readonly solved: Solved;
  readonly scatter: Scatter;
  readonly sheet: Sheet;
  /** In the unit of x. */
  readonly capacity: number;
  /** Of the calibration. */
  readonly id: string;
  readonly stiction: number | null;
}

/** Of limits that are as likely anywhere within, and of those whose ends are the likeliest. */
const RECTANGULAR = Math.sqrt(3);
const ARCSINE = Math.SQRT2;

type Named = Pick<StoredSource, 'id' | 'says'> & Partial<StoredSource>;
const systematic = (source: Named): StoredSource => ({ kind: 'systematic', shape: 'rectangular', dof: null, ...source });

/**
 * What a reading has besides the doubt of the curve, in the unit of x. The sheet's limits are those of the cell, so one
 * source for all calibrations of it; the loop, the scatter and the curvature are what this calibration shows.
 */
export function errorTerms({ fit, solved, scatter, sheet, capacity, id, stiction }: TermsAsked): ErrorTerm[] {
  const per_count = 1 / Math.abs(fit.mean_slope);
  const terms: ErrorTerm[] = [
    {
      // A reading lies off the curve as a point does, less the noise of conversions, which it brings itself.
      source: systematic({ id: `${id} repeatability`, says: 'repeatability of the cell', kind: 'random', shape: 'student', dof: scatter.dof, estimate: `${id} scatter`, cure: 'see to friction in the arm and to draught' }),
      u: scatter.beyond_noise_count * per_count,
      per: 'reading',
    },
    { source: systematic({ id: `${id} loop`, says: 'hysteresis', shape: 'arcsine', cure: 'approach loads from both sides, or use a cell of a better class' }), u: (loopHalf_count(solved, scatter) * per_count) / ARCSINE, per: 'loop' },
    { source: systematic({ id: `${id} curvature`, says: 'curvature that the points do not show', ...curvatureShape(fit), cure: 'calibrate at more loads' }), u: (fit.choice.u_left_y ?? 0) * per_count, per: 'reading' },
    { source: systematic({ id: 'cell: creep', says: 'creep under load', cure: 'take zeros more often, or use a cell of a better class' }), u: sheet.cell_creep_share / RECTANGULAR, per: 'value' },
    {
      source: systematic({ id: 'cell: slope with temperature', says: 'sensitivity of the cell with temperature', cure: 'keep the cell away from the flame' }),
      u: (sheet.cell_slope_share_per_K * sheet.cell_temperature_span_K) / RECTANGULAR,
      per: 'value',
    },
    { source: systematic({ id: 'cell: zero with temperature', says: 'zero of the cell with temperature', cure: 'keep the cell away from the flame, and take zeros more often' }), u: (sheet.cell_zero_share_per_K * capacity) / RECTANGULAR, per: 'K' },
  ];
  if (stiction !== null) terms.push({ source: systematic({ id: `${id} stiction`, says: 'stiction of the arm', kind: 'random', cure: 'clean or oil the bearings of the arm' }), u: stiction / RECTANGULAR, per: 'reading' });
  return terms.filter((t) => t.u > 0);
}

/** Half of down less up in mid-range; what the scatter alone would show is taken off. */
function loopHalf_count({ loop }: Solved, { sd_count }: Scatter): number {
  if (loop === null) return 0;
  return Math.sqrt(Math.max(0, loop.half_count ** 2 - loop.unscaled * sd_count ** 2));
}

function curvatureShape({ choice: { u_left_dof } }: LoadFit): Pick<StoredSource, 'shape' | 'dof'> {
  return Number.isFinite(u_left_dof) ? { shape: 'student', dof: Math.max(1, u_left_dof) } : { shape: 'normal', dof: null };
}

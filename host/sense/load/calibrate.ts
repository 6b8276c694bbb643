import { coefficientsOf } from '../calibration/model.js';
import type { LoadModel } from '../calibration/model.js';
import type { Sheet } from '../sheet.js';
import { correlated } from '../uncertainty/correlated.js';
import { combine, quantity } from '../uncertainty/quantity.js';
import type { Quantity } from '../uncertainty/quantity.js';
import type { Source } from '../uncertainty/source.js';
import { fitLoad } from './fit.js';
import type { LoadFit, LoadFitOptions } from './fit.js';
import { hungLoads } from './hung.js';
import type { HungIn, HungPiece } from './hung.js';
import type { LoadPoint } from './point.js';
import { solveLoad } from './solve.js';
import type { Solved } from './solve.js';
import { errorTerms } from './terms.js';

/** One reading of a calibration: what hung, and the counts that it gave. */
export interface HungPoint extends Omit<LoadPoint, 'load'> {
  /** Empty: nothing. */
  readonly pieces: readonly HungPiece[];
}

export interface LoadSetup extends HungIn {
  /** What makes this calibration unique, such as where it lies in the record: its scatter is its own. */
  readonly key: string;
  /** Half of the band in which a change of load does not show, in the unit of x; absent: not measured. */
  readonly stiction?: number;
}

export interface LoadCalibration {
  readonly fit: LoadFit;
  readonly model: LoadModel;
  /** What hung at each point, in N or Nm. */
  readonly loads: readonly Quantity[];
}

/** Scatter of the points about the curve, freed of the loop and of what the loads' own errors do. */
export interface Scatter {
  readonly sd_count: number;
  readonly dof: number;
  /** What a reading scatters beyond the noise of its conversions. */
  readonly beyond_noise_count: number;
}

/**
 * Points with what hung, to a model with every source of its doubt: the scatter of the points (one estimate), each piece,
 * gravity, air and radius, through the least-squares solution; and what a reading has besides.
 * @throws LOAD_UNFIT, FIT_IMPOSSIBLE, OUT_OF_RANGE
 */
export function calibrateLoad(hung: readonly HungPoint[], setup: LoadSetup, sheet: Sheet, options: LoadFitOptions = {}): LoadCalibration {
  const loads = hungLoads(hung.map((p) => p.pieces), setup);
  const points = hung.map((p, i): LoadPoint => ({ load: loads[i]?.value ?? 0, count: p.count, direction: p.direction, u_count: p.u_count ?? null, n: p.n ?? null, t_s: p.t_s ?? null, sequence: p.sequence ?? null }));
  const per_N = setup.kind === 'torque' ? (setup.arm?.value_m ?? 0) : 1;
  const capacity = sheet.cell_capacity_N * per_N;
  const fit = fitLoad(points, { purpose: 'guided', capacity, nonlinearity_share: sheet.cell_nonlinearity_share, ...options });
  const solved = solveLoad(points, fit.degree, fit.range);
  const scatter = scatterOf(loads, fit, solved);
  const unit = setup.kind === 'torque' ? 'Nm' : 'N';
  const id = `cal: load ${setup.key}`;
  const coefficients = coefficientsWith(solved, scatter, loads, fit, `${id} scatter`, unit);
  const model: LoadModel = {
    ...coefficientsOf(coefficients),
    kind: setup.kind,
    unit,
    degree: fit.degree,
    dof: solved.dof,
    residual_sd_count: scatter.sd_count,
    x_range: fit.range,
    arm_m: setup.kind === 'force' ? (setup.arm?.value_m ?? null) : null,
    u_arm_m: setup.kind === 'force' ? (setup.arm?.u_m ?? null) : null,
    errors: errorTerms({ fit, solved, scatter, sheet, capacity, id, stiction: setup.stiction ?? null }),
  };
  return { fit, model, loads };
}

/** How loads that are off move the counts, at each point, by each source. */
function movedBySource(loads: readonly Quantity[], slopes: readonly number[]): Map<string, { readonly source: Source; readonly counts: number[] }> {
  const moved = new Map<string, { readonly source: Source; readonly counts: number[] }>();
  for (const [i, load] of loads.entries()) {
    for (const { source, c_u } of load.parts) {
      const row = moved.get(source.id) ?? { source, counts: loads.map(() => 0) };
      row.counts[i] = c_u * (slopes[i] ?? 0);
      moved.set(source.id, row);
    }
  }
  return moved;
}

const slopesAt = (loads: readonly Quantity[], [, c1 = 0, c2 = 0]: readonly number[]): number[] => loads.map((l) => c1 + 2 * c2 * l.value);

function scatterOf(loads: readonly Quantity[], { resolution, mean_slope }: LoadFit, solved: Solved): Scatter {
  const noise2 = (resolution.noise_of_mean === null ? 1 / Math.sqrt(12) : resolution.noise_of_mean * Math.abs(mean_slope)) ** 2;
  const known = [...movedBySource(loads, slopesAt(loads, solved.coefficients)).values()].reduce((s, { counts }) => s + solved.seen(counts), 0);
  // Nothing scatters less than the conversions in its mean.
  const s2 = solved.dof > 0 ? Math.max((solved.rss - known) / solved.dof, noise2) : noise2;
  return { sd_count: Math.sqrt(s2), dof: Math.max(1, solved.dof), beyond_noise_count: Math.sqrt(s2 - noise2) };
}

function coefficientsWith(solved: Solved, scatter: Scatter, loads: readonly Quantity[], fit: LoadFit, id: string, unit: string): Quantity[] {
  const moved = movedBySource(loads, slopesAt(loads, solved.coefficients));
  const units = solved.coefficients.map((_, k) => (k === 0 ? 'count' : `count/${unit}${k === 2 ? '^2' : ''}`));
  const covariance = solved.unscaled.map((row) => row.map((v) => v * scatter.sd_count ** 2));
  const scattered = correlated(solved.coefficients.map((value, k) => ({ value, unit: units[k] ?? '' })), covariance, {
    id,
    says: `scatter of ${fit.n} points of the calibration`,
    kind: 'systematic',
    shape: 'student',
    dof: scatter.dof,
    cure: 'calibrate with more rounds',
  });
  return scattered.map((c, k) => {
    // A load that was truly greater gave the same counts: the curve lies lower.
    const parts = [...moved.values()].map(({ source, counts }) => ({ source, c_u: -counts.reduce((s, v, i) => s + v * (solved.weights[k]?.[i] ?? 0), 0) }));
    return combine(c.value, c.unit, [[c, 1], [quantity(0, c.unit, parts), 1]]);
  });
}

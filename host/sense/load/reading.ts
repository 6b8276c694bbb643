import { coefficientQuantities, errorQuantity } from '../calibration/model.js';
import type { LoadModel } from '../calibration/model.js';
import { also, combine, exact, product, quantity, within } from '../uncertainty/quantity.js';
import type { Quantity } from '../uncertainty/quantity.js';
import { armLength } from './hung.js';
import { loopShape } from './solve.js';
import type { ZeroAt } from './zero.js';

/** Mean of the counts of one span. */
export interface LoadCounts {
  /** Once and for all, such as `boot 3, tick 81233`. */
  readonly id: string;
  readonly count: number;
  readonly u_count: number;
  /** Of u_count. */
  readonly dof: number;
  /** Of one conversion; null: not told. */
  readonly sd_count?: number | null;
}

/** beyond: further outside of what was calibrated than can be told. */
export type LoadState = 'read' | 'no_zero' | 'beyond';

export interface LoadReading {
  readonly state: LoadState;
  /** In words; null where there is nothing to say. */
  readonly reason: string | null;
  readonly torque: Quantity | null;
  /** On the cell; null where the model has torque in place. */
  readonly force: Quantity | null;
  /** Outside of what was calibrated, but told, with a doubt that grows. */
  readonly extrapolated: boolean;
  /** Zero before and after, near enough; a run needs a passed check mass besides. */
  readonly enclosed: boolean;
}

/** Share of the calibrated span beyond its ends within which a reading is still told. */
export const BEYOND_SHARE = 0.1;
/** What a curve may bend in going beyond by a whole span, over what it may within (a parabola: (1 + 2)^2 - 1). */
const BENDS_BEYOND = 8;

const none = (state: LoadState, reason: string): LoadReading => ({ state, reason, torque: null, force: null, extrapolated: false, enclosed: false });

/**
 * Torque from a mean count: counts less its zero, through the inverse of the calibration, with every doubt. kind force: by
 * the arm; without one there is force and no torque.
 */
export function loadReading(counts: LoadCounts, zero: ZeroAt | null, model: LoadModel): LoadReading {
  if (zero === null) return none('no_zero', 'no zero was taken: take one with nothing on the arm');
  const [, c1 = exact(0, ''), c2 = exact(0, '')] = coefficientQuantities(model);
  const read = combine(counts.count - zero.zero.value, 'count', [[countQuantity(counts), 1], [zero.zero, -1]]);
  const d = read.value;
  const [low, high] = model.x_range;
  const span = high - low;
  const under = c1.value ** 2 + 4 * c2.value * d;
  const x = under > 0 ? (2 * d) / (c1.value + Math.sign(c1.value) * Math.sqrt(under)) : NaN;
  const beyond = Math.max(0, x - high, low - x) / span;
  if (!(beyond <= BEYOND_SHARE)) return none('beyond', `${Number.isNaN(x) ? 'the count' : `${x.toPrecision(4)} ${model.unit}`} is outside the calibrated ${low.toPrecision(4)} to ${high.toPrecision(4)} ${model.unit}: calibrate further, or lower the load`);

  const slope = c1.value + 2 * c2.value * x;
  const curve = combine(x, model.unit, [[read, 1 / slope], [c1, -x / slope], [c2, (-x * x) / slope]]);
  const errors = model.errors.flatMap((term) => {
    // K and h are the zero's own.
    const by = term.per === 'reading' ? 1 : term.per === 'value' ? x : term.per === 'loop' ? loopShape(x, model.x_range) : 0;
    // Each reading has its own.
    const source = term.source.kind === 'random' ? { ...term.source, id: `${counts.id}: ${term.source.id}` } : term.source;
    return by === 0 ? [] : [errorQuantity({ ...term, source }, by, model.unit)];
  });
  const value = also(curve, ...errors, beyondQuantity(model, beyond));
  const common = { state: 'read', reason: beyond > 0 ? `outside the calibrated ${low.toPrecision(4)} to ${high.toPrecision(4)} ${model.unit} by ${(100 * beyond).toFixed(1)} % of the span` : null, extrapolated: beyond > 0, enclosed: zero.enclosed } as const;
  if (model.kind === 'torque') return { ...common, torque: value, force: null };
  const arm = model.arm_m === null ? null : armLength({ value_m: model.arm_m, u_m: model.u_arm_m ?? 0 }, 'arm');
  return { ...common, torque: arm === null ? null : product(value, arm, 'Nm'), force: value };
}

function countQuantity({ id, count, u_count, dof, sd_count = null }: LoadCounts): Quantity {
  const noise = quantity(count, 'count', [{ source: { id: `${id}: noise`, says: 'noise of the load cell', kind: 'random', shape: 'student', dof, cure: 'average longer' }, c_u: u_count }]);
  // Noise of more than a step averages the rounding away.
  if (sd_count === null || sd_count > 0.5) return noise;
  return also(noise, within(0, 'count', 0.5, { id: `${id}: step`, says: "the converter's steps", kind: 'random' }));
}

function beyondQuantity(model: LoadModel, beyond: number): Quantity {
  if (beyond === 0) return exact(0, model.unit);
  const bend = Math.hypot(...model.errors.filter((e) => e.source.id.endsWith(' curvature')).map((e) => e.u), model.residual_sd_count / Math.abs(model.coefficients[1] ?? 1));
  return within(0, model.unit, BENDS_BEYOND * beyond * bend * Math.sqrt(3), { id: `${model.errors[0]?.source.id ?? 'load'}: beyond`, says: 'beyond what was calibrated', kind: 'systematic', cure: 'calibrate over the loads that are used' });
}

import { errorQuantity } from '../calibration/model.js';
import type { LoadModel } from '../calibration/model.js';
import type { Sheet } from '../sheet.js';
import { combine, estimated, quantity, within } from '../uncertainty/quantity.js';
import type { Quantity } from '../uncertainty/quantity.js';

/** The cell with nothing on the arm: mean of a span, at its middle. */
export interface Zero {
  /** Once and for all, such as `boot 3, tick 81233`. */
  readonly id: string;
  /** By one clock for all. */
  readonly t_s: number;
  readonly count: number;
  readonly u_count: number;
  /** Of u_count; absent: taken as known. */
  readonly dof?: number;
}

/** The zero at a moment. */
export interface ZeroAt {
  readonly zero: Quantity;
  /** A zero before and one after, near enough to each other. */
  readonly enclosed: boolean;
  /** In words, for a person. */
  readonly says: string;
  /** To the nearest zero. */
  readonly since_h: number;
}

/** Zeros further apart than this leave what lies between unverified (common practice, no source). */
export const ZEROS_APART_h = 3;
/** A cell that warms towards a new temperature has come to 1 - 1/e of it after this, or sooner (common practice, no source). */
const WARMS_h = 0.5;
/** Not sooner than this: a small beam on its mount (common practice, no source). */
const WARMS_LEAST_h = 5 / 60;
/** What a cell that warms and cools again unseen leaves of a straight line, as a share of how far it warms: half a time constant each way. */
const UNSEEN = 0.12;

/**
 * The zero at `t_s` from the zeros of the rig: between two of them linear in time, with both their doubts and what the
 * drift may bow; beside only one, that one, with a doubt that grows with the time from it.
 * @returns null without a zero
 */
export function zeroAt(zeros: readonly Zero[], t_s: number, model: LoadModel, sheet: Sheet): ZeroAt | null {
  const order = zeros.toSorted((a, b) => a.t_s - b.t_s);
  const before = order.findLast((z) => z.t_s <= t_s);
  const after = order.find((z) => z.t_s > t_s);
  // Counts by which the cell's zero moves when it warms as far as the sheet says.
  const warm_count = warmLimit_count(model, sheet);
  if (before !== undefined && after !== undefined) return between(before, after, t_s, warm_count);
  const only = before ?? after;
  return only === undefined ? null : beside(only, order, t_s, warm_count);
}

function between(before: Zero, after: Zero, t_s: number, warm_count: number): ZeroAt {
  const apart_h = (after.t_s - before.t_s) / 3600;
  const f = (t_s - before.t_s) / (after.t_s - before.t_s);
  const change = after.count - before.count;
  const unseen = (UNSEEN * 4 * f * (1 - f) * warm_count * (1 - Math.exp(-apart_h / WARMS_h))) / Math.sqrt(3);
  const limit = Math.max(Math.abs(change) * bow(f, apart_h / WARMS_LEAST_h), unseen);
  const bent = within(0, 'count', limit, { id: `zero ${before.id} to ${after.id}: bow`, says: 'drift of zero that is not linear in time', kind: 'systematic', cure: 'take zeros more often' });
  const zero = combine(before.count + f * change, 'count', [[zeroQuantity(before), 1 - f], [zeroQuantity(after), f], [bent, 1]]);
  const enclosed = apart_h <= ZEROS_APART_h;
  const says = `zero before and after, ${apart_h.toFixed(2)} h apart${enclosed ? '' : `: more than ${ZEROS_APART_h} h, so what lies between is unverified`}`;
  return { zero, enclosed, says, since_h: Math.min(t_s - before.t_s, after.t_s - t_s) / 3600 };
}

/** How far a warming that slows down, `lags` time constants between the zeros, stands off the straight line at the share f of the way; a share of what it does in all. */
function bow(f: number, lags: number): number {
  return (1 - Math.exp(-lags * f)) / (1 - Math.exp(-lags)) - f;
}

function beside(only: Zero, order: readonly Zero[], t_s: number, warm_count: number): ZeroAt {
  const since_h = Math.abs(t_s - only.t_s) / 3600;
  const way = t_s >= only.t_s ? 'before' : 'after';
  const seen = driftSeen(order);
  const told = { id: `zero ${only.id}: drift ${way === 'before' ? 'after' : 'before'} it`, kind: 'systematic', cure: 'take a zero before and after' } as const;
  const drift =
    seen === null
      ? within(0, 'count', warm_count * (1 - Math.exp(-since_h / WARMS_h)), { ...told, says: 'drift of zero, by the rig sheet since no zeros show it' })
      : estimated(0, 'count', seen.rms_count_per_root_h * Math.sqrt(since_h), seen.dof, { ...told, says: `drift of zero, as ${order.length} zeros show it` });
  return { zero: combine(only.count, 'count', [[zeroQuantity(only), 1], [drift, 1]]), enclosed: false, says: `zero only ${way}, ${since_h.toFixed(2)} h off`, since_h };
}

/** Zeros that show how far the zero wanders, at least. */
const ZEROS_LEAST = 4;

/** Root mean square of its steps from zero to zero, each over the root of its time. */
export function driftSeen(order: readonly Zero[]): { readonly rms_count_per_root_h: number; readonly dof: number } | null {
  const steps = order.slice(1).flatMap((z, i) => {
    const before = order[i] ?? z;
    const h = (z.t_s - before.t_s) / 3600;
    return h > 0 && h <= ZEROS_APART_h ? [Math.max(0, (z.count - before.count) ** 2 - z.u_count ** 2 - before.u_count ** 2) / h] : [];
  });
  if (steps.length < ZEROS_LEAST - 1) return null;
  return { rms_count_per_root_h: Math.sqrt(steps.reduce((s, v) => s + v, 0) / steps.length), dof: steps.length };
}

function zeroQuantity({ id, count, u_count, dof = Infinity }: Zero): Quantity {
  const source = { id: `zero ${id}: noise`, says: 'scatter of a zero', kind: 'random', shape: 'student', dof, cure: 'take the zero for longer' } as const;
  return quantity(count, 'count', [{ source, c_u: u_count }]);
}

function warmLimit_count(model: LoadModel, sheet: Sheet): number {
  const per_K = model.errors.filter((e) => e.per === 'K').reduce((s, e) => s + errorQuantity(e, Math.sqrt(3), model.unit).parts.reduce((t, p) => t + Math.abs(p.c_u), 0), 0);
  return per_K * sheet.cell_temperature_span_K * Math.abs(model.coefficients[1] ?? 0);
}

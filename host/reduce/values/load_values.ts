import type { LoadModel } from '../../sense/calibration/model.js';
import { CHECK_WITHIN_h, verified } from '../../sense/load/check.js';
import { loadReading } from '../../sense/load/reading.js';
import { zeroAt } from '../../sense/load/zero.js';
import type { Zero } from '../../sense/load/zero.js';
import { estimated, product, scaled, sum } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';
import type { Knowledge, Span } from '../span.js';
import { trendOf } from '../steady/trend.js';
import { aliasing } from './aliasing.js';
import type { Aliasing } from './aliasing.js';
import { countsOf } from './counts.js';
import type { SpanCounts } from './counts.js';
import { apart_s, idOf } from './near.js';
import type { Shaft } from './shaft.js';
import { measured, notMeasured, uncalibrated, workedOut } from './value.js';
import type { Value } from './value.js';

export interface Acceleration {
  readonly rad_s2: number;
  readonly u_rad_s2: number;
  /** Inertia times it: in the torque already. null: no inertia is known. */
  readonly torque: Quantity | null;
}

export interface LoadValues {
  /** What the engine gives at the brake's shaft: the brake's torque and, with a known inertia, what speeds the wheel up. */
  readonly torque_Nm: Value;
  readonly power_W: Value;
  readonly force_N: Value;
  readonly counts: SpanCounts;
  readonly acceleration: Acceleration | null;
  readonly aliasing: readonly Aliasing[];
  /** Of the blocks: mean of torque times speed, less the product of the means; what is slower than a block. null: not turning. */
  readonly slow_covariance_W: number | null;
  readonly verified: boolean;
  readonly lacks: readonly string[];
  readonly zero_ids: readonly number[];
  readonly check_ids: readonly number[];
  readonly zero_says: string | null;
}

/** Power is this product: the cell cannot follow the torque within a turn. */
export const POWER_IS = 'mean torque times mean speed, both over the same whole revolutions' as const;

export function loadValues(span: Span, knowledge: Knowledge, shaft: Shaft): LoadValues {
  const record = knowledge.calibrations.load ?? null;
  const model = (record?.model ?? null) as LoadModel | null;
  const near = zerosNear(span, knowledge);
  const nearest = near.toSorted((a, b) => Math.abs(a.t_s) - Math.abs(b.t_s))[0];
  const counts = countsOf(span, shaft, nearest === undefined ? null : nearest.sd_count);
  const acceleration = accelerationOf(span, shaft, knowledge.inertia_kgm2 ?? null);
  const rpm = shaft.speed.quantity?.value ?? NaN;
  const aliases = shaft.state === 'turning' ? aliasing(counts.rate_Hz, rpm, shaft.turning_s) : [];
  const common = { counts, acceleration, aliasing: aliases, slow_covariance_W: null, zero_ids: [], check_ids: [], zero_says: null } as const;
  const without = (value: Value, lacks: readonly string[]): LoadValues => ({ ...common, torque_Nm: value, force_N: value, power_W: workedOut([value, shaft.speed], powerOf), verified: false, lacks });
  if (counts.count === null) return without(notMeasured(counts.reason), [counts.reason ?? 'torque']);
  if (model === null) return without(uncalibrated('the load cell is not calibrated'), ['a calibration of the load cell']);

  const zero = zeroAt(near, 0, model, knowledge.sheet);
  const { count, u_count, dof, sd_count } = counts;
  const read = loadReading({ id: idOf(span), count, u_count, dof, sd_count }, zero, model);
  const check = checkNear(span, knowledge, record?.cal_id ?? null);
  const { verified: whole, lacks } = verified({ zeros_enclose: zero?.enclosed ?? false, check });
  const used = { zero_ids: zero === null ? [] : usedZeros(near), check_ids: check === null || Math.abs(check.apart_h) > CHECK_WITHIN_h ? [] : [check.check_id], zero_says: zero?.says ?? null };
  if (read.state !== 'read') return { ...without(notMeasured(read.reason), [read.reason ?? 'torque']), ...used };
  const why = [...lacks.map((l) => `it lacks ${l}`), read.reason, shaftLacks(shaft), counts.covered < 0.98 ? `conversions are missing for ${(100 * (1 - counts.covered)).toFixed(0)} % of it` : null];
  const braked = read.torque;
  const force_N = read.force === null ? notMeasured('the calibration is of torque in place') : measured(read.force, why);
  if (braked === null) return { ...without(notMeasured('no arm length is known'), ['an arm length']), force_N, ...used };
  const speedingUp = acceleration?.torque ?? null;
  const torque = speedingUp === null ? braked : sum(braked, speedingUp);
  const torque_Nm = measured(torque, why);
  return {
    ...common,
    ...used,
    torque_Nm,
    force_N,
    power_W: workedOut([torque_Nm, shaft.speed], powerOf),
    slow_covariance_W: slowCovariance_W(counts, model, span.us_per_tick),
    verified: whole && !read.extrapolated && shaftLacks(shaft) === null,
    lacks: [...lacks, ...(read.extrapolated ? ['a calibration over this load'] : []), ...(shaftLacks(shaft) === null ? [] : ['whole revolutions'])],
  };
}

const powerOf = (torque: Quantity, speed: Quantity): Quantity => scaled(product(torque, speed, ''), (2 * Math.PI) / 60, 'W');

function shaftLacks({ state }: Shaft): string | null {
  if (state === 'partly') return 'the shaft turned in a part of the span only, so this is over time';
  return state === 'unknown' ? 'no whole revolution was seen, so this is over time' : null;
}

interface NearZero extends Zero {
  readonly zero_id: number;
  readonly sd_count: number;
}

/** By seconds from the middle of the span. */
function zerosNear(span: Span, { zeros }: Knowledge): NearZero[] {
  return zeros.flatMap((z): NearZero[] => {
    const t_s = apart_s(span, z);
    if (t_s === null) return [];
    return [{ id: `boot ${z.boot_id}, tick ${z.tick}`, zero_id: z.zero_id, t_s, count: z.count, u_count: z.u_count, dof: Math.max(1, z.n - 1), sd_count: z.u_count * Math.sqrt(z.n) }];
  });
}

/** The one before and the one after, as zeroAt takes them. */
function usedZeros(near: readonly NearZero[]): number[] {
  const order = near.toSorted((a, b) => a.t_s - b.t_s);
  const both = [order.findLast((z) => z.t_s <= 0), order.find((z) => z.t_s > 0)];
  return both.flatMap((z) => (z === undefined ? [] : [z.zero_id]));
}

function checkNear(span: Span, { checks }: Knowledge, cal_id: number | null): { readonly check_id: number; readonly passed: boolean | null; readonly apart_h: number } | null {
  const of = checks.flatMap((c) => {
    const apart = c.cal_id === cal_id ? apart_s(span, c) : null;
    return apart === null ? [] : [{ check_id: c.check_id, passed: c.passed, apart_h: apart / 3600 }];
  });
  return of.toSorted((a, b) => Math.abs(a.apart_h) - Math.abs(b.apart_h))[0] ?? null;
}

/** Mean over the span, as the slope of a line through the speeds of its blocks. */
function accelerationOf(span: Span, shaft: Shaft, inertia: Quantity | null): Acceleration | null {
  const readings = shaft.blocks.flat().map((b) => ({ t_s: ((b.tick_from + b.tick_to) / 2) * span.us_per_tick * 1e-6, value: (2e6 * Math.PI * b.turns) / ((b.tick_to - b.tick_from) * span.us_per_tick) }));
  const trend = trendOf(readings);
  if (trend === null) return null;
  const { slope_per_s, u_slope_per_s, n } = trend;
  const dw_dt = estimated(slope_per_s, 'rad/s2', u_slope_per_s, n - 2, { id: `${idOf(span)}: acceleration`, says: 'acceleration of the shaft', kind: 'random', cure: 'wait until the speed is steady' });
  return { rad_s2: slope_per_s, u_rad_s2: u_slope_per_s, torque: inertia === null ? null : product(inertia, dw_dt, 'Nm') };
}

function slowCovariance_W({ blocks }: SpanCounts, { coefficients, arm_m, kind }: LoadModel, us_per_tick: number): number | null {
  if (blocks.length < 2) return null;
  const per_count = (kind === 'torque' ? 1 : (arm_m ?? NaN)) / (coefficients[1] ?? NaN);
  const w = blocks.map((b) => (2e6 * Math.PI * b.turns) / ((b.tick_to - b.tick_from) * us_per_tick));
  const [meanC, meanW] = [blocks.map((b) => b.count), w].map((v) => v.reduce((s, x) => s + x, 0) / v.length) as [number, number];
  const s = blocks.reduce((t, b, i) => t + (b.count - meanC) * ((w[i] ?? 0) - meanW), 0) / blocks.length;
  return Number.isFinite(per_count) ? s * per_count : null;
}

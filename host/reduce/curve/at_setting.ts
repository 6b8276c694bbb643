import type { LoadModel } from '../../sense/calibration/model.js';
import { cut } from '../points/cut.js';
import type { Point } from '../points/point.js';
import type { Knowledge, Span } from '../span.js';
import { countsOf } from '../values/counts.js';
import { shaftOf } from '../values/shaft.js';
import type { Setting } from './brake.js';

/** Torque and speed block by block within one point, where nobody touched the brake; null: torque is not measured there. */
export function settingOf(span: Span, knowledge: Knowledge, { tick_from, tick_to, values }: Point): Setting | null {
  const model = (knowledge.calibrations.load?.model ?? null) as LoadModel | null;
  const mean_Nm = values.torque_Nm.quantity?.value;
  if (model === null || mean_Nm === undefined) return null;
  const part = cut(span, tick_from, tick_to, knowledge.magnets);
  const { blocks } = countsOf(part, shaftOf(part, knowledge.magnets), null);
  const Nm_per_count = (model.kind === 'torque' ? 1 : (model.arm_m ?? NaN)) / (model.coefficients[1] ?? NaN);
  const mean = blocks.reduce((s, b) => s + b.count, 0) / blocks.length;
  if (!Number.isFinite(Nm_per_count) || blocks.length < 3) return null;
  const second = (tick: number): number => (span.from_utc_us === null ? tick * span.us_per_tick : span.from_utc_us + (tick - span.tick_from) * span.us_per_tick) / 1e6;
  return {
    t_s: blocks.map((b) => second((b.tick_from + b.tick_to) / 2)),
    torque_Nm: blocks.map((b) => mean_Nm + (b.count - mean) * Nm_per_count),
    speed_rad_s: blocks.map((b) => (2e6 * Math.PI * b.turns) / ((b.tick_to - b.tick_from) * span.us_per_tick)),
  };
}

/** So long without an edge: it stands (common practice, no source). */
const STANDS_us = 3e6;

/** Whether the shaft stopped between the slowest of the points and what came next. */
export function stoppedAfterSlowest(span: Span, points: readonly Point[]): boolean | null {
  const turning = points.filter((p) => p.values.speed_rpm.quantity !== null);
  const [first] = turning;
  if (first === undefined) return null;
  const speedOf = (p: Point): number => p.values.speed_rpm.quantity?.value ?? Infinity;
  const slowest = turning.reduce((a, b) => (speedOf(b) < speedOf(a) ? b : a), first);
  const until = points.find((p) => p.tick_from > slowest.tick_from)?.tick_from ?? span.tick_to;
  const holes = span.holes.filter((h) => h.stream === 'edge');
  const still = STANDS_us / span.us_per_tick;
  let before = slowest.tick_to;
  for (const tick of [...span.edge.tick.subarray(0, span.edge.n).filter((t) => t > slowest.tick_to && t <= until), until]) {
    const from = before;
    if (tick - from > still && !holes.some((h) => h.tick_to > from && h.tick_from < tick)) return true;
    before = tick;
  }
  return false;
}

import { CHECK_WITHIN_h } from '../sense/load/check.js';
import { meanCounts } from '../sense/load/counts.js';
import { loadReading } from '../sense/load/reading.js';
import { zeroAt, ZEROS_APART_h } from '../sense/load/zero.js';
import type { SpeedReading } from '../sense/speed.js';
import { speedReading } from '../sense/speed_reading.js';
import type { SpeedMean } from '../sense/speed_reading.js';
import { product, scaled } from '../sense/uncertainty/quantity.js';
import type { Quantity } from '../sense/uncertainty/quantity.js';
import type { InForce } from './live_records.js';
import { from, notMeasured, shown, uncalibrated } from './live_view.js';
import type { Shown } from './live_view.js';
import type { LiveWindows } from './live_windows.js';

/** The moment for which values are asked. */
export interface Moment {
  readonly boot_id: number;
  readonly tick: number;
  readonly utc_us: number;
  /** With its uncertainty. */
  readonly us_per_tick: Quantity;
  readonly shaft: SpeedReading;
}

/** Whole revolutions of the last second; of a slow shaft, of a longer time. */
const SPANS_us = [1e6, 3e6, 10e6];

export interface LoadValues {
  readonly torque_Nm: Shown;
  readonly force_N: Shown;
  readonly speed_rpm: Shown;
  readonly power_W: Shown;
}

/** Torque and speed as means over the same whole revolutions; power is the product of the means. Over the last second where the shaft stands. */
export function loadValues(windows: LiveWindows, held: InForce, moment: Moment): LoadValues {
  const mean = speedNow(windows, moment);
  const speed_rpm = speedShown(mean, moment);
  const second = moment.tick - 1e6 / moment.us_per_tick.value;
  const turning = mean?.state === 'measured';
  const { torque, force } = loadShown(windows, held, moment, turning ? (mean.tick_from ?? second) : second, turning ? (mean.tick_to ?? moment.tick) : moment.tick);
  const power_W = from([torque, speed_rpm], (T, n) => scaled(product(T, n, ''), (2 * Math.PI) / 60, 'W'));
  return { torque_Nm: torque, force_N: force, speed_rpm, power_W };
}

function speedNow(windows: LiveWindows, { boot_id, tick, us_per_tick, shaft }: Moment): SpeedMean | null {
  if (shaft.state !== 'turning' && shaft.state !== 'stopped') return null;
  const edges = windows.edges.marked();
  const id = `boot ${boot_id}, tick ${tick}`;
  if (shaft.state === 'stopped') return speedReading(edges, { tick_from: (shaft.tick ?? 0) + 1, tick_to: tick }, us_per_tick, id);
  for (const span_us of SPANS_us) {
    const mean = speedReading(edges, { tick_from: tick - span_us / us_per_tick.value, tick_to: tick }, us_per_tick, id);
    if (mean.state === 'measured') return mean;
  }
  return null;
}

function speedShown(mean: SpeedMean | null, { shaft }: Moment): Shown {
  if (mean !== null && mean.speed !== null) return shown(mean.speed);
  if (shaft.state === 'slowing') return notMeasured('the shaft slows: no edge came when it was due');
  return notMeasured(shaft.state === 'turning' ? 'the rhythm of the magnets is not known yet' : (mean?.why ?? 'no whole revolution was seen'));
}

function loadShown(windows: LiveWindows, held: InForce, moment: Moment, tick_from: number, tick_to: number): { torque: Shown; force: Shown } {
  const both = (s: Shown): { torque: Shown; force: Shown } => ({ torque: s, force: s });
  const counts = meanCounts(windows.forces.between(tick_from, tick_to), held.noise_count);
  if (counts.count === null || counts.u_count === null || counts.dof === null) return both(notMeasured(counts.reason));
  const { load } = held;
  if (load === null) return both(uncalibrated('the load cell is not calibrated'));
  const t_s = moment.utc_us / 1e6;
  const zero = zeroAt(held.zeros, t_s, load, held.sheet);
  const { count, u_count, dof, sd_count } = counts;
  const read = loadReading({ id: `boot ${moment.boot_id}, tick ${tick_from}`, count, u_count, dof, sd_count }, zero, load);
  if (read.state !== 'read') return both(notMeasured(read.reason));

  const lacks: string[] = [];
  if (zero === null || zero.since_h > ZEROS_APART_h) lacks.push(`no zero in the last ${ZEROS_APART_h} h`);
  const check_h = held.check === null ? Infinity : (moment.utc_us - held.check.utc_us) / 3.6e9;
  if (check_h > CHECK_WITHIN_h) lacks.push(`no check mass in the last ${CHECK_WITHIN_h} h`);
  else if (held.check?.passed !== true) lacks.push('the last check mass did not pass');
  if (read.reason !== null) lacks.push(read.reason);
  const of = (q: Quantity | null, why: string): Shown => (q === null ? notMeasured(why) : shown(q, lacks));
  return { torque: of(read.torque, 'no arm length is known'), force: of(read.force, 'the calibration is of torque in place') };
}

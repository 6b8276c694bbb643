import { RPM_per_rad_s } from '../sense/physics/units.js';
import { bandOf, U95 } from '../reduce/curve/torque_curve.js';
import type { TorqueCurve } from '../reduce/curve/torque_curve.js';
import type { Value } from '../reduce/values/value.js';
import { curvePlot } from './curve_plot.js';
import { columns } from './output.js';
import { withU, wrapped } from './points_text.js';

const DEGREE_NAMES: Readonly<Record<number, string>> = { 1: 'straight line', 2: 'parabola', 3: 'cubic' };
const SIGNS: Readonly<Record<string, string>> = { up: '^', down: 'v' };
const LINE_SPEEDS = 60;

/** In 80 columns, with a plot of torque and one of power. */
export function curveText(c: TorqueCurve, simulated: boolean): string {
  const left = c.left_out.map(({ n, reason }) => wrapped(`point ${n} left out: ${reason}`));
  const head = [...(simulated ? ['SIMULATED'] : []), `${c.points.length} points, ${c.left_out.length} left out; +- is half of the 95 % interval`];
  if (c.curve === null) return [...head, wrapped(c.why ?? ''), ...left].join('\n');
  return [
    ...head,
    ...named('peak power', c.peak_power_W, 1, 'W', c.peak_power_W.quantity === null ? '' : ` (of the curve through ${c.peak_points} points near the top)`),
    ...named('  at speed', c.peak_speed_rpm, 1, 'rev/min'),
    ...named('  at torque', c.peak_torque_Nm, 1000, 'mNm'),
    ...named('free speed', c.free_speed_rpm, 1, 'rev/min'),
    ...named('stall torque', c.stall_torque_Nm, 1000, 'mNm'),
    ...(c.last_stable === null ? [] : [wrapped(`slowest point ${c.last_stable.n}: ${(1000 * c.last_stable.torque_Nm.value).toFixed(1)} mNm at ${c.last_stable.speed_rpm.value.toFixed(0)} rev/min, no stall torque; ${c.last_stable.says}`)]),
    wrapped(`brake: ${c.brake.says}`),
    ...plots(c),
    columns([['rev/min', 'T mNm', '+-', 'P W', '+-'], ...c.band.map((b) => [b.speed_rpm.toFixed(0), ...withU(valued(b.torque_Nm), 1000), ...withU(valued(b.power_W))])]),
    wrapped(`curve: ${c.curve.models.map((m) => `${DEGREE_NAMES[m.degree] ?? m.degree} ${(100 * m.weight).toFixed(0)} %`).join(', ')} (shares of belief)${c.curve.scatter_factor > 1.5 ? `; the points scatter ${c.curve.scatter_factor.toFixed(1)} times as much as they say, and the intervals are wider for it` : ''}`),
    ...(c.branches === null ? [] : [wrapped(`up and down: ${c.branches.says}`)]),
    ...c.warnings.map(wrapped),
    ...left,
    ...(c.why === null ? [] : [wrapped(c.why)]),
    wrapped(c.verified ? 'verified' : `not verified${c.lacks === null ? '' : `: ${c.lacks}`}`),
  ].join('\n');
}

const valued = (quantity: Value['quantity']): Value => ({ quantity, state: 'measured', reason: null });

function named(name: string, value: Value, scale: number, unit: string, more = ''): string[] {
  const [told, U] = withU(value, scale);
  return [value.quantity === null ? wrapped(`${name}: ${value.reason ?? 'not measured'}`) : wrapped(`${name}: ${told} +-${U} ${unit}${more}`)];
}

function plots(c: TorqueCurve): string[] {
  if (c.curve === null) return [];
  const line = bandOf(c.curve, LINE_SPEEDS);
  const signed = c.points.map((p) => ({ x: p.speed_rad_s * RPM_per_rad_s, sign: SIGNS[p.branch] ?? 'o', p }));
  return [
    curvePlot('torque in mNm over rev/min (v way down, ^ way up, o else, | interval, . curve)', line.map((b) => ({ x: b.speed_rpm, y: 1000 * b.torque_Nm.value })), signed.map(({ x, sign, p }) => ({ x, sign, y: 1000 * p.torque_Nm.value, U: 1000 * U95(p.torque_Nm) }))),
    curvePlot('power in W', line.map((b) => ({ x: b.speed_rpm, y: b.power_W.value })), signed.map(({ x, sign, p }) => ({ x, sign, y: p.power_W.value, U: U95(p.power_W) }))),
  ];
}

import { curveAt } from '../curve/fit.js';
import type { Curve } from '../curve/fit.js';
import { RPM_per_rad_s } from '../../sense/physics/units.js';

/** Of the speed, either way: wide enough that a bend of the fit does not tell. */
const BESIDE = 0.05;
/** A run that stands a little beyond the points is still told by their nearest end. */
const BEYOND = 0.1;

/**
 * How the torque of a known curve goes with speed, dlnT/dlnn: along it an engine slides whose brake does less. null: the curve says
 * nothing of that speed.
 */
export function slopeAlong(curve: Curve): (speed_rpm: number) => number | null {
  const [from, to] = curve.range_rad_s;
  return (speed_rpm) => {
    const w = speed_rpm / RPM_per_rad_s;
    if (!(w >= from * (1 - BEYOND) && w <= to * (1 + BEYOND))) return null;
    const at = Math.max(from, Math.min(to, w));
    const [low, high] = [Math.max(from, at * (1 - BESIDE)), Math.min(to, at * (1 + BESIDE))];
    const [before, after] = [curveAt(curve, low).value, curveAt(curve, high).value];
    return before > 0 && after > 0 && high > low ? Math.log(after / before) / Math.log(high / low) : null;
  };
}

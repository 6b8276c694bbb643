import { describe, expect, it } from 'vitest';

import { fitCurve } from '../../../../host/reduce/curve/fit.js';
import { slopeAlong } from '../../../../host/reduce/fade/along_curve.js';
import { RPM_per_rad_s } from '../../../../host/sense/physics/units.js';
import { known } from '../../../../host/sense/uncertainty/quantity.js';

const lineOf = (torque_Nm: (w: number) => number): ((speed_rpm: number) => number | null) =>
  slopeAlong(fitCurve([30, 40, 50, 60, 70, 80, 90].map((w, i) => ({ speed_rad_s: w, torque_Nm: known(torque_Nm(w), 'Nm', 1e-5, { id: `point ${i}`, says: 'noise', kind: 'random' }) }))));

describe('the slope along a known curve', () => {
  it('is that of the logarithms', () => {
    // T = 0.05 - 0.0004 w: w T' / T.
    const slope = lineOf((w) => 0.05 - 0.0004 * w);
    for (const w of [40, 60, 80]) expect(slope(w * RPM_per_rad_s)).toBeCloseTo((-0.0004 * w) / (0.05 - 0.0004 * w), 2);
  });

  it('is that of the nearest end a little beyond the points, and none further off', () => {
    const slope = lineOf((w) => 0.05 - 0.0004 * w);
    expect(slope(94 * RPM_per_rad_s)).toBeCloseTo(slope(90 * RPM_per_rad_s) ?? NaN, 6);
    expect(slope(110 * RPM_per_rad_s)).toBeNull();
    expect(slope(20 * RPM_per_rad_s)).toBeNull();
  });

  it('is none where the curve gives no torque', () => {
    expect(lineOf((w) => 0.05 - 0.0006 * w)(88 * RPM_per_rad_s)).toBeNull();
  });
});

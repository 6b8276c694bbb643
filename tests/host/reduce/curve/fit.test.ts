import { describe, expect, it } from 'vitest';

import { fitCurve, torqueAt } from '../../../../host/reduce/curve/fit.js';
import type { CurvePoint } from '../../../../host/reduce/curve/fit.js';
import { random } from './made_points.js';

/** Speeds of a brake that was hardly turned, each held several times: all within a quarter of the fastest. */
const HELD_rad_s = [94, 101, 108, 114.5, 121];
const TIMES = 6;

describe('a curve through points whose speeds lie close together', () => {
  it('goes where its fit went, to the last digits', () => {
    // Of the fourth degree in speed, so that the model of that degree meets it.
    const T = (w: number): number => 0.012 - 0.0005 * (w - 107) - 2e-6 * (w - 107) ** 2 + 3e-8 * (w - 107) ** 3 + 4e-9 * (w - 107) ** 4;
    const points = HELD_rad_s.flatMap((held, i) =>
      Array.from({ length: TIMES }, (_, k): CurvePoint => {
        const w = held + 0.003 * k;
        return { speed_rad_s: w, torque_Nm: random(T(w), 'Nm', 2e-5, `noise ${i} ${k}`) };
      }),
    );
    const fourth = fitCurve(points).models.find((m) => m.degree === 4);
    if (fourth === undefined) throw new Error('no model of the fourth degree');
    for (const p of points) expect(Math.abs(torqueAt(fourth, p.speed_rad_s).value - p.torque_Nm.value)).toBeLessThan(1e-11);
  });
});

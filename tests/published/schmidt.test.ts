import { describe, expect, it } from 'vitest';

import { idealCycle } from '../../host/reduce/ideal/schmidt.js';
import type { Geometry } from '../../host/reduce/ideal/schmidt.js';

/**
 * The closed form of the ideal isothermal cycle, held against
 * - I. Urieli, Ohio University, "Schmidt analysis" (alpha): his s, c, b, beta and works;
 * - K. Hirata, "Schmidt theory for Stirling engines" (beta; formulas from memory);
 * - the integral of p dV, taken numerically over volumes written down here a second time.
 * Geometry: the GPU-3 of NASA TM-82646 as Urieli tabulates it, volumes in cm3 (heater length from memory).
 */
const gpu3: Geometry = { kind: 'alpha', hot_swept_cm3: 120.82, cold_swept_cm3: 114.13, phase_deg: 90, hot_dead_cm3: 30.52 + 70.28, cold_dead_cm3: 28.68 + 13.18, regenerator_cm3: 50.04 };
const small: Geometry = { kind: 'gamma', hot_swept_cm3: 60, cold_swept_cm3: 22, phase_deg: 85, hot_dead_cm3: 6, cold_dead_cm3: 9, regenerator_cm3: 4 };
const cases: readonly [Geometry, number, number, number][] = [
  [gpu3, 977, 288, 4.13e6],
  [{ ...gpu3, phase_deg: 70 }, 800, 300, 1e5],
  [small, 650, 300, 1.013e5],
  [{ ...small, kind: 'beta' }, 650, 300, 1.013e5],
  [{ ...small, kind: 'beta', phase_deg: 60, cold_swept_cm3: 80 }, 500, 310, 2e5],
];

/** Volumes of both spaces in m3 at crank angle x, each from the drawing of its kind. */
function volumes(g: Geometry, x: number): [number, number] {
  const ph = (g.phase_deg * Math.PI) / 180;
  const { hot_swept_cm3: E, cold_swept_cm3: C } = g;
  if (g.kind === 'alpha') return [1e-6 * (g.hot_dead_cm3 + (E / 2) * (1 + Math.cos(x + ph))), 1e-6 * (g.cold_dead_cm3 + (C / 2) * (1 + Math.cos(x)))];
  const overlap = g.kind === 'gamma' ? 0 : (E + C) / 2 - Math.sqrt((E * E + C * C) / 4 - (E * C * Math.cos(ph)) / 2);
  return [1e-6 * (g.hot_dead_cm3 + (E / 2) * (1 - Math.cos(x))), 1e-6 * (g.cold_dead_cm3 - overlap + (E / 2) * (1 + Math.cos(x)) + (C / 2) * (1 - Math.cos(x - ph)))];
}

function byQuadrature(g: Geometry, hot_K: number, cold_K: number, mean_Pa: number): { hot_J: number; cold_J: number; least: number; most: number } {
  const n = 4000;
  const at = (i: number): { hot: number; cold: number; p: number } => {
    const [hot, cold] = volumes(g, (2 * Math.PI * i) / n);
    const regenerator = (g.regenerator_cm3 * 1e-6 * Math.log(hot_K / cold_K)) / (hot_K - cold_K);
    return { hot, cold, p: 1 / (hot / hot_K + cold / cold_K + regenerator) };
  };
  const all = Array.from({ length: n + 1 }, (_, i) => at(i));
  const scale = (mean_Pa * n) / all.slice(1).reduce((s, a) => s + a.p, 0);
  let hot_J = 0;
  let cold_J = 0;
  for (let i = 1; i <= n; i++) {
    const [a, b] = [all[i - 1], all[i]];
    if (a === undefined || b === undefined) continue;
    hot_J += ((a.p + b.p) / 2) * scale * (b.hot - a.hot);
    cold_J += ((a.p + b.p) / 2) * scale * (b.cold - a.cold);
  }
  const p = all.map((a) => a.p * scale);
  return { hot_J, cold_J, least: Math.min(...p), most: Math.max(...p) };
}

describe('the ideal cycle', () => {
  it('equals the integral of p dV', () => {
    for (const [g, hot_K, cold_K, mean_Pa] of cases) {
      const closed = idealCycle(g, hot_K, cold_K, mean_Pa);
      const n = byQuadrature(g, hot_K, cold_K, mean_Pa);
      expect(closed.hot_J / n.hot_J).toBeCloseTo(1, 5);
      expect(closed.cold_J / n.cold_J).toBeCloseTo(1, 5);
      expect(closed.pressure_least_Pa / n.least).toBeCloseTo(1, 5);
      expect(closed.pressure_most_Pa / n.most).toBeCloseTo(1, 5);
    }
  });

  it('has the efficiency of Carnot, and no work without a difference', () => {
    for (const [g, hot_K, cold_K, mean_Pa] of cases) {
      const c = idealCycle(g, hot_K, cold_K, mean_Pa);
      expect(c.work_J).toBeGreaterThan(0);
      expect(c.work_J / c.hot_J).toBeCloseTo(1 - cold_K / hot_K, 12);
      expect(Math.abs(idealCycle(g, 300, 300, mean_Pa).work_J)).toBeLessThan(1e-12 * mean_Pa);
    }
  });

  it('equals Urieli\'s closed form of the alpha', () => {
    const [th, tk, pm, alpha] = [977, 288, 4.13e6, Math.PI / 2];
    const { hot_swept_cm3: e, cold_swept_cm3: k, hot_dead_cm3, cold_dead_cm3, regenerator_cm3 } = gpu3;
    const s = k / 2 / tk + cold_dead_cm3 / tk + (regenerator_cm3 * Math.log(th / tk)) / (th - tk) + hot_dead_cm3 / th + e / 2 / th;
    const c = 0.5 * Math.sqrt((e / th) ** 2 + (2 * e * k * Math.cos(alpha)) / (th * tk) + (k / tk) ** 2);
    const b = c / s;
    const beta = Math.atan2((e * Math.sin(alpha)) / th, (e * Math.cos(alpha)) / th + k / tk);
    const factor = (pm * 1e-6 * Math.PI * (Math.sqrt(1 - b * b) - 1)) / b;
    const got = idealCycle(gpu3, th, tk, pm);
    expect(got.cold_J / (factor * k * Math.sin(beta))).toBeCloseTo(1, 10);
    expect(got.hot_J / (factor * e * Math.sin(beta - alpha))).toBeCloseTo(1, 10);
  });

  it('equals Hirata\'s closed form of the beta', () => {
    const g: Geometry = { ...small, kind: 'beta' };
    const [te, tc, pm] = [650, 300, 1.013e5];
    const dx = (g.phase_deg * Math.PI) / 180;
    const [t, v] = [tc / te, g.cold_swept_cm3 / g.hot_swept_cm3];
    const X = (cm3: number): number => cm3 / g.hot_swept_cm3;
    const vb = X((g.hot_swept_cm3 + g.cold_swept_cm3) / 2 - Math.sqrt((g.hot_swept_cm3 ** 2 + g.cold_swept_cm3 ** 2) / 4 - (g.hot_swept_cm3 * g.cold_swept_cm3 * Math.cos(dx)) / 2));
    // His regenerator stands at the arithmetic mean: here the same gas, so that the two can be compared.
    const logMean_K = (te - tc) / Math.log(te / tc);
    const xr = (X(g.regenerator_cm3) * ((te + tc) / 2)) / logMean_K;
    const S = t + 2 * t * X(g.hot_dead_cm3) + (4 * t * xr) / (1 + t) + v + 2 * X(g.cold_dead_cm3) + 1 - 2 * vb;
    const B = Math.sqrt(t * t + 2 * (t - 1) * v * Math.cos(dx) + v * v - 2 * t + 1);
    const a = Math.atan2(v * Math.sin(dx), t + v * Math.cos(dx) - 1);
    const c = B / S;
    const WE = (pm * g.hot_swept_cm3 * 1e-6 * Math.PI * c * Math.sin(a)) / (1 + Math.sqrt(1 - c * c));
    expect(idealCycle(g, te, tc, pm).hot_J / WE).toBeCloseTo(1, 10);
    expect(idealCycle(g, te, tc, pm).work_J / ((1 - t) * WE)).toBeCloseTo(1, 10);
  });
});

import { describe, expect, it } from 'vitest';

import { gate, gateSettings } from '../../../../host/reduce/steady/gate.js';
import type { Watched } from '../../../../host/reduce/steady/gate.js';
import type { Reading } from '../../../../host/reduce/steady/trend.js';
import { timeToSettle_s, trendOf } from '../../../../host/reduce/steady/trend.js';
import { normalsFrom, seeded } from '../../../support/random.js';

const next = seeded(9);
const normal = normalsFrom(next);
const series = (seconds: number, f: (t: number) => number, noise = 0) => Array.from({ length: seconds }, (_, t_s) => ({ t_s, value: f(t_s) + noise * normal() }));

const bench = (seconds: number, change: Partial<Watched> = {}): Watched => ({
  now_s: seconds - 1,
  speed_rpm: series(seconds, () => 600, 0.6),
  torque_Nm: series(seconds, () => 0.016, 2e-5),
  hot_C: series(seconds, () => 350, 0.1),
  coolant_in_C: series(seconds, () => 17, 0.01),
  coolant_out_C: series(seconds, () => 21, 0.01),
  turns: 10 * seconds,
  inertia_kgm2: 2e-3,
  inlet_session_mean_C: 17,
  ...change,
});
const failing = (w: Watched): string[] => gate(w, gateSettings()).criteria.filter((c) => !c.holds).map((c) => c.name);

describe('the steady gate', () => {
  it('lets a steady bench pass, nearly always', () => {
    let passed = 0;
    for (let i = 0; i < 200; i++) if (gate(bench(120), gateSettings()).steady) passed++;
    expect(passed).toBeGreaterThan(195);
  });

  it('names what still moves, with value, limit and time to go', () => {
    const tau_s = 90;
    const warming = bench(120, { hot_C: series(120, (t) => 350 - 40 * Math.exp(-t / tau_s), 0.02) });
    expect(failing(warming)).toEqual(['hot_slope_K_per_min']);
    const g = gate(warming, gateSettings());
    const hot = g.criteria.find((c) => c.name === 'hot_slope_K_per_min');
    // d/dt = 40 / tau exp(-t / tau) falls to 1.5 K/min at t = tau ln(40 * 60 / (1.5 tau)) = 259 s.
    expect(hot?.to_go_s).toBeGreaterThan(100);
    expect(hot?.to_go_s).toBeLessThan(190);
    expect(g.to_go_s).toBe(hot?.to_go_s);
  });

  it('waits for its window and its turns', () => {
    const early = gate(bench(20), gateSettings());
    expect(early.steady).toBe(false);
    expect(early.criteria.find((c) => c.name === 'window_s')?.to_go_s).toBeCloseTo(40, 0);
    expect(failing(bench(120, { turns: 12 }))).toEqual(['turns']);
  });

  it('sees each channel move on its own', () => {
    expect(failing(bench(120, { speed_rpm: series(120, (t) => 600 + 0.15 * t, 0.3) }))).toContain('speed_slope_share_per_min');
    expect(failing(bench(120, { torque_Nm: series(120, (t) => 0.016 - 8e-6 * t, 1e-5) }))).toContain('torque_slope_share_per_min');
    expect(failing(bench(120, { coolant_out_C: series(120, (t) => 21 + 0.004 * t, 0.01) }))).toEqual(['coolant_out_slope_K_per_min']);
    expect(failing(bench(120, { inlet_session_mean_C: 16.2 }))).toEqual(['inlet_off_K']);
    expect(failing(bench(120, { speed_rpm: series(120, () => 600, 20) }))).toContain('speed_sd_share');
    expect(failing(bench(120, { speed_rpm: series(120, (t) => 600 + 0.08 * t, 0.01), inertia_kgm2: 0.02 }))).toContain('acceleration_share');
    expect(failing(bench(120, { torque_Nm: series(120, (t) => 0.016 + 1.2e-4 * Math.sin(t / 8), 1e-6) }))).toContain('r_torque');
    // A quarter per cent is far above that noise, and of no weight.
    expect(failing(bench(120, { torque_Nm: series(120, (t) => 0.016 + 4e-5 * Math.sin(t / 8), 1e-6) }))).not.toContain('r_torque');
  });

  it('shows what is not measured as such, and does not wait for it', () => {
    const g = gate(bench(120, { hot_C: [], inertia_kgm2: null }), gateSettings());
    expect(g.steady).toBe(true);
    expect(g.criteria.find((c) => c.name === 'hot_slope_K_per_min')?.value).toBeNull();
    expect(g.criteria.some((c) => c.name === 'acceleration_share')).toBe(false);
  });

  it('foretells when the whole window will have come below the limit, also where its newer half has', () => {
    // 600 rev/min after a step of 30, gone with a time constant of 12 s.
    const at = (end_s: number): readonly Reading[] => Array.from({ length: 60 }, (_, i) => ({ t_s: end_s - 59 + i, value: 600 - 30 * Math.exp(-(end_s - 59 + i) / 12) }));
    const limit_per_s = (0.01 * 600) / 60;
    const slopeAt = (end_s: number): number => Math.abs(trendOf(at(end_s))?.slope_per_s ?? NaN);
    const settled_s = Array.from({ length: 200 }, (_, i) => 60 + i).find((end_s) => slopeAt(end_s) < limit_per_s) ?? NaN;
    expect(settled_s).toBeGreaterThan(65);
    expect(timeToSettle_s(at(62), limit_per_s)).toBeGreaterThan(0.6 * (settled_s - 62));
    expect(timeToSettle_s(at(62), limit_per_s)).toBeLessThan(1.7 * (settled_s - 62));
  });

  it('foretells nothing of what does not slow down', () => {
    expect(timeToSettle_s(series(60, (t) => t * t), 0.1)).toBeNull();
  });
});

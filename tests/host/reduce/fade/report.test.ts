import { describe, expect, it } from 'vitest';

import { fadeReport } from '../../../../host/reduce/fade/report.js';
import { madeRun } from './made.js';

const none = {};

describe('the fade of a run', () => {
  it('has a slope with an interval, for the run and for its last ten minutes', () => {
    const [held] = fadeReport(madeRun({ speed_rpm: -2, torque_Nm: -2 }, { n: 360, since_s: 0, over_s: 3600 })).stretches;
    expect(held?.slope?.percent_per_h).toBeCloseTo(-4, 0);
    expect(held?.slope?.percent_per_10min).toBeCloseTo(-4 / 6, 1);
    expect(held?.slope?.low_percent_per_h).toBeLessThan(-4);
    expect(held?.slope?.high_percent_per_h).toBeGreaterThan(-4);
    const [whole, last] = [held?.slope, held?.slope_last];
    expect((last?.high_percent_per_h ?? 0) - (last?.low_percent_per_h ?? 0)).toBeGreaterThan((whole?.high_percent_per_h ?? 0) - (whole?.low_percent_per_h ?? 0));
  });

  it('says nothing of a sound run', () => {
    const { stretches } = fadeReport(madeRun(none));
    expect(stretches).toHaveLength(1);
    expect(stretches[0]?.findings).toEqual([]);
  });

  it('is cut where the brake is set anew, and does not take that for a fade', () => {
    const run = madeRun(none).map((r) => (r.t_s > 1500 ? { ...r, torque_Nm: (r.torque_Nm ?? 0) * 1.3, power_W: (r.power_W ?? 0) * 1.1, speed_rpm: (r.speed_rpm ?? 0) * 0.85 } : r));
    const { stretches } = fadeReport(run);
    expect(stretches.map((s) => Math.round(s.from_s / 100))).toEqual([0, 15]);
    expect(stretches.flatMap((s) => s.findings)).toEqual([]);
  });

  it('is cut where the shaft stood, and leaves the heating up out', () => {
    const run = madeRun(none, { n: 400 }).map((r) => (r.t_s > 1800 && r.t_s < 2000 ? { ...r, speed_rpm: 0, torque_Nm: 0, power_W: 0 } : r.t_s < 700 ? { ...r, hot_C: 378 - 0.25 * (700 - r.t_s) } : r));
    const { stretches } = fadeReport(run);
    expect(stretches).toHaveLength(2);
    expect(stretches[0]?.from_s).toBeGreaterThan(500);
    expect(stretches[1]?.from_s).toBeGreaterThanOrEqual(2000);
  });

  it('names the channel that moved first', () => {
    const hot = madeRun({ hot_C: -40 }, { since_s: 1500, over_s: 600, n: 300 });
    const rest = madeRun({ speed_rpm: -6, torque_Nm: -6 }, { since_s: 2000, over_s: 400, n: 300 });
    const run = hot.map((r, i) => ({ ...r, speed_rpm: rest[i]?.speed_rpm ?? null, torque_Nm: rest[i]?.torque_Nm ?? null, power_W: rest[i]?.power_W ?? null }));
    const [finding] = fadeReport(run).stretches[0]?.findings ?? [];
    expect(finding?.first).toBe('hot');
    expect(finding?.moved.map((m) => m.feature)).toEqual(['hot', 'power']);
    expect(Math.abs((finding?.since_s ?? 0) - 1500)).toBeLessThan(60);
  });

  it('says why there is none', () => {
    expect(fadeReport([]).why).toMatch(/nothing/);
    expect(fadeReport(madeRun(none, { n: 20 })).why).toMatch(/five minutes/);
    expect(fadeReport(madeRun(none, { gone: ['speed_rpm'] })).stretches).toEqual([]);
  });
});

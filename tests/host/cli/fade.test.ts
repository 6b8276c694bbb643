import { describe, expect, it } from 'vitest';

import { fadeText } from '../../../host/cli/fade_text.js';
import { fadeReport } from '../../../host/reduce/fade/report.js';
import { madeRun } from '../reduce/fade/made.js';

const span = { boot_id: 7, simulated: true, tick_from: 1000, us_per_tick: 0.5, from_utc_us: Date.UTC(2026, 4, 3, 10, 0, 0) * 1000 };
const air = { speed_rpm: -4, torque_Nm: -4, hot_C: 13, coolant_difference_K: -7, skin_C: 18, swing_share: 4.6 };

describe('what the command fade prints', () => {
  const text = fadeText(span, fadeReport(madeRun(air)));

  it('fits 80 columns', () => {
    for (const line of text.split('\n')) expect(line.length, line).toBeLessThanOrEqual(80);
  });

  it('says that it is simulated, how fast power goes, when it began, and what that looks like', () => {
    expect(text).toMatch(/^Boot 7 \(simulated\): brake held from 10:00:05 to 10:49:55 \(50 min\)$/m);
    expect(text).toMatch(/^Power: -\d+\.\d %\/h \(95 %: -\d+\.\d to -?\d+\.\d\); last 10 min: /m);
    // Half of a reading and the stride of onsets away from 2000 s.
    expect(text).toMatch(/^\^ 10:3[234]:\d\d, seen 10:3\d:\d\d/m);
    expect(text.replace(/\n\s+/g, ' ')).toMatch(/hot end up 1[234] K, .*flow unchanged, skin up 1[78] K/);
    expect(text).toMatch(/air in the jacket \(\d+ %\)/);
    expect(text).toMatch(/bleed/);
  });

  it('draws power with a mark where it began to fall', () => {
    const lines = text.split('\n');
    const from = lines.indexOf('Power in W:') + 1;
    const marks = lines.find((l) => l.trim() === '^') ?? '';
    expect(lines.slice(from, from + 5).every((l) => l.includes('*'))).toBe(true);
    // 2000 of 3000 s.
    const wide = (lines[from] ?? '').indexOf('|') + 1;
    expect(Math.abs(marks.indexOf('^') - wide - 40)).toBeLessThanOrEqual(2);
  });

  it('says of a sound run that nothing moved, and of none why', () => {
    expect(fadeText(span, fadeReport(madeRun({})))).toMatch(/Nothing began to move\.$/);
    expect(fadeText(span, fadeReport([]))).toBe('Boot 7 (simulated): nothing was measured');
  });
});

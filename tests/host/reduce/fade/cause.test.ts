import { describe, expect, it } from 'vitest';

import type { FadeChannel } from '../../../../host/reduce/fade/reading.js';
import { fadeReport, fadeSettings } from '../../../../host/reduce/fade/report.js';
import type { FadeFinding } from '../../../../host/reduce/fade/report.js';
import { madeRun } from './made.js';

/** Against an eddy brake: n and T fall alike. The swing over the speed rises as n falls, even as its torque stays. */
const slower = { speed_rpm: -4, torque_Nm: -4 };
type Moves = Parameters<typeof madeRun>[0];
const finding = (moves: Moves, more: Parameters<typeof madeRun>[1] = {}): FadeFinding | undefined => fadeReport(madeRun(moves, more)).stretches[0]?.findings[0];

/** What moves by the trade's table of fingerprints (common practice, no source), put in by hand. */
const table: readonly (readonly [cause: string, Moves])[] = [
  ['air_pocket', { ...slower, hot_C: 13, coolant_difference_K: -7, skin_C: 18, swing_share: 4.6 }],
  ['flow_loss', { speed_rpm: -1, torque_Nm: -1, flow_Lpmin: -70, coolant_difference_K: 63, hot_C: 3, skin_C: 4, swing_share: 2 }],
  ['leak', { ...slower, hot_C: 2, swing_share: 4.8 }],
  ['displacer', { ...slower, hot_C: 2, swing_share: 8, swing_deg: 2.8 }],
  ['displacer', { ...slower, hot_C: -12, coolant_difference_K: 2.2, swing_share: 4.6 }],
  ['softening', { ...slower, hot_C: 2, swing_share: 4.8, swing_deg: 7 }],
  ['brake_fade', { speed_rpm: 6, torque_Nm: -7, swing_share: -16 }],
  ['heater_fade', { ...slower, hot_C: -32, coolant_difference_K: -9, skin_C: -4, swing_share: 4.6 }],
  ['coolant_warming', { speed_rpm: -3, torque_Nm: -3, coolant_in_C: 16, hot_C: 9, coolant_difference_K: -4, skin_C: 14, swing_share: 4 }],
  ['zero_drift', { torque_Nm: -8 }],
  ['zero_drift', { torque_Nm: 8 }],
];

describe('the cause of a fade', () => {
  it('is the one whose fingerprint the channels show', () => {
    for (const [cause, moves] of table) {
      const found = finding(moves)?.found;
      expect(found?.cause, JSON.stringify(moves)).toBe(cause);
      expect(found?.both, JSON.stringify(moves)).toBeNull();
    }
  });

  it('is told with its evidence in words', () => {
    const air = finding(table[0]?.[1] ?? {});
    expect(air?.says).toMatch(/^air in the jacket \(\d+ %\)/);
    expect(air?.evidence.join(', ')).toMatch(/power down 7\.\d %.*hot end up 1[234] K, .*rise of the coolant down 6\.\d %, flow unchanged, skin up 1[78] K/);
    expect(air?.look).toMatch(/bleed/);
  });

  it('cannot be told where what would tell is missing, and says what that is', () => {
    const gone: readonly FadeChannel[] = ['swing_share', 'swing_deg'];
    const leak = finding(table[2]?.[1] ?? {}, { gone });
    expect(leak?.found.cause).toBeNull();
    expect(leak?.found.would_tell).toContain('swing_deg');
    expect(leak?.says).toMatch(/^cannot tell: .* the swing within a turn would tell$/);
    // The heat tells these, with or without what happens within a turn.
    expect(finding(table[7]?.[1] ?? {}, { gone })?.found.cause).toBe('heater_fade');
  });

  it('is none of the known ones where nothing fits', () => {
    expect(finding({ speed_rpm: 6, torque_Nm: 9, hot_C: -30, flow_Lpmin: 12, coolant_difference_K: -6 })?.found.cause).toBe('none_of_these');
  });

  it('may be two at once', () => {
    const both = finding({ speed_rpm: -5, torque_Nm: -11, hot_C: 13, coolant_difference_K: -8, skin_C: 20, swing_share: 5.5 });
    expect(both?.found.both?.toSorted()).toEqual(['air_pocket', 'zero_drift']);
    expect(both?.says).toMatch(/^two at once/);
  });

  it('takes a fading brake only where speed and torque slide along a known curve', () => {
    const steep = { ...fadeSettings, curve_slope_at: () => -6 };
    // Along a curve that steep the speed would gain a seventh of what the brake loses.
    const slides = fadeReport(madeRun({ speed_rpm: 1.4, torque_Nm: -8.6, swing_share: -3 }), steep).stretches[0]?.findings[0];
    expect(slides?.found.cause).toBe('brake_fade');
    const leaves = fadeReport(madeRun({ speed_rpm: 8, torque_Nm: -2, swing_share: -16 }), steep).stretches[0]?.findings[0];
    expect(leaves?.found.cause).not.toBe('brake_fade');
    expect(finding({ speed_rpm: 8, torque_Nm: -2, swing_share: -16 })?.found.cause).toBe('brake_fade');
  });
});

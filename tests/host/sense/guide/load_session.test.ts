import { describe, expect, it } from 'vitest';

import { loadFitter } from '../../../../host/sense/guide/load_fit.js';
import { LoadSession } from '../../../../host/sense/guide/load_session.js';
import type { TermName } from '../../../../host/sense/guide/load_terms.js';
import { weight_N } from '../../../../host/sense/physics/air.js';
import { gravity_m_s2 } from '../../../../host/sense/physics/gravity.js';
import { sheetOf } from '../../../../host/sense/sheet.js';
import { Arm, us_per_tick } from './support/arm.js';
import type { ArmTruth } from './support/arm.js';

const terms = { way: 'torque', length: '60 mm +-0.1 mm', gravity: '52.5 deg, 40 m', masses: '50 g, 100 g, 200 g, class M1' };
const armWith = (answers: Partial<Record<TermName, string>> = terms, truth: Partial<ArmTruth> = {}, seed = 1): Arm =>
  new Arm(new LoadSession({ limits: { capacity_N: 9.8 }, fit: loadFitter('rig 1', sheetOf()), answers }), truth, seed);

const preload = (arm: Arm): Arm => arm.wait(3).hang(200, 3).hang(0, 3).hang(200, 3).hang(0, 3).hang(200, 3).hang(0, 3);
const climb = (arm: Arm): Arm => preload(arm).wait(4).hang(50).hang(100).hang(200).wait(26);
const whole = (arm: Arm): Arm => climb(arm).hang(100).hang(50).hang(0);
const refusedBy = (act: () => unknown): string => {
  try {
    act();
  } catch (thrown) {
    return (thrown as Error).message;
  }
  return 'taken';
};

describe('a guided calibration', () => {
  it('finds by itself when each load hangs and is settled, up and down, and keeps what the loads were', () => {
    const arm = whole(armWith());
    const { prompt, points, preview } = arm.guide.view();
    expect(prompt.id, arm.said).toBe('result');
    expect(points.map((p) => (p as { name: string }).name)).toEqual(['zero', '50 g up', '100 g up', '200 g up', '200 g held', '100 g down', '50 g down', 'zero again']);
    const text = (preview as { text: string[] }).text;
    expect(text.every((l) => l.length <= 80)).toBe(true);
    for (const word of ['Residuals', 'slope', 'hysteresis', 'zero return', 'creep', 'resolution', 'lower limit', 'A reading of 58.', '(95 %), made of']) expect(text.join('\n')).toContain(word);

    const { half_load } = preview as { half_load: { value: number; U95: number; budget: { u: number }[] } };
    expect(half_load.value).toBeCloseTo(0.0588, 3);
    expect(half_load.U95).toBeGreaterThan(0.0588 * 1e-3);
    expect(half_load.U95).toBeLessThan(0.0588 * 5e-3);
    expect(half_load.budget.map((b) => b.u)).toEqual(half_load.budget.map((b) => b.u).toSorted((a, b) => b - a));

    arm.answer('keep');
    const { outcome } = arm.guide;
    const [calibration] = outcome?.calibrations ?? [];
    const slope = calibration?.model.kind === 'torque' ? (calibration.model.coefficients[1] ?? 0) : 0;
    const true_slope = arm.truth.counts_per_g / (weight_N(0.001, gravity_m_s2(52.5, 40)) * 0.06);
    // The model takes half of what an arm within 1 degree of level is short by.
    expect(Math.abs(slope / true_slope - 1)).toBeLessThan(3e-4);
    expect(outcome?.zeros).toHaveLength(2);
    expect(calibration?.from).toEqual({ boot_id: 1, tick: (points[0] as { tick_from: number }).tick_from });
    expect(JSON.parse(JSON.stringify(calibration?.data))).toMatchObject({ how: 'guided', preloads: 3, terms: { way: 'torque', rungs: [{ mass_kg: 0.05 }, { mass_kg: 0.1 }, { mass_kg: 0.2 }] } });
    arm.guide.kept(null, 'Kept.');
    expect(arm.guide.view().ended).toBe('kept');
    expect(refusedBy(() => arm.answer('keep'))).toContain('ended');
  });

  it('holds for what was recorded before, if a person says so', () => {
    const from = (word: string): unknown => whole(armWith()).answer(word).guide.outcome?.calibrations[0]?.from;
    expect(from('keep from boot')).toEqual({ boot_id: 1, tick: 0 });
    const zero = (from('keep') as { tick: number }).tick;
    expect(from('keep from 2 min')).toEqual({ boot_id: 1, tick: zero - 120e6 / us_per_tick });
    expect(from('keep from 999 min')).toEqual({ boot_id: 1, tick: 0 });
  });

  it('asks for what was not told up front, refuses nonsense with the reason, and takes an answer back', () => {
    const arm = armWith({});
    expect(arm.prompt).toBe('way');
    expect(refusedBy(() => arm.answer('sideways'))).toContain('torque or force');
    arm.answer('force');
    expect(refusedBy(() => arm.answer('60'))).toContain('mm, cm or m');
    arm.answer('60 mm');
    expect(refusedBy(() => arm.answer('97 deg'))).toContain('-90 to 90');
    arm.answer('9.8127');
    for (const [masses, why] of [
      ['50 g', 'one load shows no curve'],
      ['50 g, 100 g', '2 loads show no curve'],
      ['50 g, 100 g, 100 g', 'there twice'],
      ['50 g, 100 g, 1100 g +-1 g', 'pulls with 10.8 N, and the cell is rated 9.8 N'],
      ['50 g, 100 g, 150 g', 'gives no limit for a weight of 150 g'],
      ['50 g, 100 g, many', 'a mass is a number'],
      ['50 g, 100 g, 200 g class Q7', 'is no class'],
    ] as const) {
      expect(refusedBy(() => arm.answer(masses)), masses).toContain(why);
      expect(arm.prompt).toBe('masses');
    }
    arm.answer('undo');
    expect(arm.prompt).toBe('gravity');
    arm.answer('52.5 deg, 40 m', '50g,100g,50g+100g');
    expect(arm.prompt).toBe('preload 50 g + 100 g');
    expect(() => armWith({ way: 'torque', length: 'long' })).toThrow(/a length is/);
  });

  it('does not take one mass for another, whatever is pressed, unless it could be right', () => {
    const arm = preload(armWith()).wait(4).hang(50);
    expect(arm.prompt).toBe('up 100 g');
    arm.wait(4);
    expect(refusedBy(() => arm.answer(''))).toContain('reads the same as 50 g did');
    expect(refusedBy(() => arm.answer('take anyway'))).toContain('reads the same as 50 g did');
    arm.hang(0, 4);
    expect(arm.why).toContain('nothing hangs on the arm yet');
    arm.hang(150, 4);
    expect(arm.why).toContain('reads as 150 g where 100 g is asked for');
    expect(refusedBy(() => arm.answer('take'))).toContain('reads as 150 g');
    arm.answer('take anyway');
    expect(arm.prompt).toBe('up 200 g');
    expect(arm.said).toContain('warning: 100 g up was taken in spite of this');
  });

  it('refuses a wrong sign, and takes it where the brake pulls that way', () => {
    const arm = preload(armWith(terms, { counts_per_g: -2100 })).wait(4).hang(50);
    expect(arm.prompt).toBe('up 50 g');
    expect(arm.why).toMatch(/^wrong sign: 50 g moves the count by -1050\d\d, downwards/);
    expect(refusedBy(() => arm.answer('take anyway'))).toContain('wrong sign');
    arm.answer('reversed').wait(2);
    expect(arm.prompt).toBe('up 100 g');
    expect(arm.hang(100).hang(200).wait(26).hang(100).hang(50).hang(0).prompt).toBe('result');
  });

  it('says what stands in the way, and takes nothing of it', () => {
    const arm = preload(armWith()).wait(4);
    arm.hang(50, 0).wait(4, { swing_count: 900 });
    expect(arm.why).toMatch(/^swinging \d{3} counts at 2\.\d Hz/);
    arm.wait(4, { turning: true });
    expect(arm.why).toContain('engine turning');
    expect(refusedBy(() => arm.answer('take anyway'))).toContain('engine turning');
    arm.wait(4, { flags: 4 });
    expect(arm.why).toContain('saturated');
    expect(refusedBy(() => arm.answer('take anyway'))).toContain('saturated');
    expect(arm.prompt).toBe('up 50 g');
  });

  it('reads again, takes back, leaves out, and does one more round', () => {
    const arm = preload(armWith()).wait(4).hang(50);
    arm.answer('again');
    expect(arm.prompt).toBe('up 50 g');
    // The same mass still hangs: it is the one that is meant.
    expect(arm.wait(5).prompt).toBe('up 100 g');
    arm.answer('undo').wait(6);
    // Now another one is meant.
    expect(arm.prompt).toBe('up 50 g');
    arm.hang(0, 2).hang(50).hang(100).hang(200);
    expect(arm.prompt).toBe('hold 200 g');
    arm.answer('skip');
    arm.answer('skip');
    expect(arm.said).toContain('warning: Left out: 100 g down');
    arm.hang(50).hang(0);
    expect(arm.prompt, arm.said).toBe('result');
    arm.answer('more').hang(50).hang(100).hang(200).hang(100).hang(50).hang(0);
    expect(arm.prompt).toBe('result');
    expect((arm.guide.view().preview as { repeatability: unknown }).repeatability).not.toBeNull();
    const [calibration] = arm.answer('keep').guide.outcome?.calibrations ?? [];
    expect(calibration?.data).toMatchObject({ skipped: ['200 g held', '100 g down'] });
    expect(refusedBy(() => armWith().wait(2).answer('undo'))).toContain('nothing was taken yet');
  });

  it('cannot do without a zero or three loads, and without a preload asks whether the arm is empty', () => {
    const arm = armWith().answer('skip').wait(5);
    expect([arm.prompt, arm.why]).toEqual(['zero', 'press Enter when nothing hangs on the arm']);
    expect(refusedBy(() => arm.answer('skip'))).toContain('without a zero');
    // A load that is left out going up is still hung going down.
    arm.answer('', 'skip', 'skip');
    expect(refusedBy(() => arm.answer('skip'))).toContain('fewer than 3 loads');
  });

  it('lives through a reconnect and says a reset, after which the step is read anew', () => {
    const arm = preload(armWith()).wait(4).hang(50, 1);
    arm.guide.gone('the port is gone.');
    expect(arm.guide.view().live?.why_not).toBe('the port is gone.');
    arm.t_s += 10;
    arm.guide.board({ boot_id: 1, us_per_tick });
    expect(arm.said).toContain('told: The board is back, in the same boot');
    expect(arm.wait(5).prompt).toBe('up 100 g');
    arm.hang(100, 2);
    arm.guide.gone('the port is gone.');
    arm.boot_id = 2;
    arm.t_s = 3;
    arm.guide.board({ boot_id: 2, us_per_tick });
    expect(arm.said).toContain('warning: The board was reset: 100 g up is read anew; what was taken before stays.');
    arm.wait(5).hang(200).wait(26).hang(100).hang(50).hang(0);
    expect(arm.prompt).toBe('result');
    expect(arm.guide.view().points.map((p) => (p as { boot_id: number }).boot_id)).toEqual([1, 1, 2, 2, 2, 2, 2, 2]);
  });

  it('warns of a cold board, and notes it with the calibration', () => {
    const arm = armWith();
    arm.t_s = 70;
    expect(arm.wait(2).said).toContain('warning: The board started 1.2 min ago');
  });

  it('shows hysteresis where there is one', () => {
    const shown = (share: number): number => (whole(armWith(terms, { hysteresis_share: share })).guide.view().preview as { hysteresis: { max: { share: number } } }).hysteresis.max.share;
    expect(Math.abs(shown(0))).toBeLessThan(1e-4);
    // 0.2 % of 100 g over a range of 200 g, less what the curve takes up of it.
    expect(shown(0.002)).toBeGreaterThan(5e-4);
    expect(shown(0.002)).toBeLessThan(1.5e-3);
  });
});

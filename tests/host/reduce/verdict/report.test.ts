import { describe, expect, it } from 'vitest';

import { fitCurve } from '../../../../host/reduce/curve/fit.js';
import { between } from '../../../../host/reduce/verdict/between.js';
import { defaultPlan, levelsOf } from '../../../../host/reduce/verdict/compare.js';
import { covariates } from '../../../../host/reduce/verdict/covariates.js';
import type { Conditions } from '../../../../host/reduce/verdict/covariates.js';
import { countLook, withLook } from '../../../../host/reduce/verdict/kept_looks.js';
import { verdictReport } from '../../../../host/reduce/verdict/report.js';
import type { ComparedRun } from '../../../../host/reduce/verdict/report.js';
import { atCommonSpeeds } from '../../../../host/reduce/verdict/speeds.js';
import { inWords, picture } from '../../../../host/reduce/verdict/words.js';
import { exact, known, quantity } from '../../../../host/sense/uncertainty/quantity.js';
import type { Quantity } from '../../../../host/sense/uncertainty/quantity.js';

const unmeasured: Conditions = { hot_C: null, coolant_in_C: null, room_C: null, barometer_hPa: null };
const systematic = (id: string): { id: string; says: string; kind: 'systematic' } => ({ id, says: id, kind: 'systematic' });
const run = (run_id: number, result: number | Quantity, more: Partial<ComparedRun> = {}): ComparedRun => ({
  run_id, name: `run ${run_id}`, utc_us: run_id * 1e9, result: typeof result === 'number' ? exact(result, 'W') : result, curve: null, conditions: unmeasured, lacks: null, ...more,
});

describe('looks', () => {
  const levels = levelsOf(defaultPlan).differ;
  const at = (n: number, ...run_ids: number[]): { n: number; run_ids: number[] } => ({ n, run_ids });

  it('are counted by the runs that were looked at', () => {
    expect(countLook([], at(3, 1, 2, 3, 4, 5, 6), defaultPlan, levels)).toEqual({ look: 1, again: false, extra: 0, false_calls_most: 0.05 });
    const kept = [at(3, 1, 2, 3, 4, 5, 6)];
    expect(countLook(kept, at(3, 6, 5, 4, 3, 2, 1), defaultPlan, levels)).toMatchObject({ look: 1, again: true, extra: 0 });
    // One skipped costs nothing.
    expect(countLook(kept, at(5, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10), defaultPlan, levels)).toMatchObject({ look: 2, extra: 0, false_calls_most: 0.05 });
  });

  it('beyond the plan are further chances to be fooled', () => {
    const kept = [at(3, 1, 2, 3, 4, 5, 6)];
    const exchanged = countLook(kept, at(3, 1, 2, 7, 4, 5, 6), defaultPlan, levels);
    expect(exchanged).toMatchObject({ look: 2, again: false, extra: 1 });
    expect(exchanged.false_calls_most).toBeCloseTo(0.05 + (levels[0] ?? 0), 12);
    expect(countLook([], at(9), defaultPlan, levels)).toMatchObject({ extra: 1 });
    expect(countLook([], at(2), defaultPlan, levels)).toMatchObject({ extra: 0 });
  });

  it('are kept once each', () => {
    const first = { ...at(3, 1, 2), utc_us: 5, word: 'cannot_tell' };
    const list = withLook([first], { ...at(3, 2, 1), utc_us: 9, word: 'better' });
    expect(list).toEqual([{ ...at(3, 2, 1), utc_us: 9, word: 'better' }]);
    expect(withLook(list, { ...at(4, 1, 2, 3), utc_us: 7, word: 'same' }).map((l) => l.utc_us)).toEqual([7, 9]);
  });
});

describe('what calibrations do to a comparison', () => {
  const slope = (id: string, P: number): Quantity => known(P, 'W', 0.01 * P, systematic(id));

  it('cancels where both builds share it', () => {
    expect(between([slope('cal 1', 1), slope('cal 1', 1.1)], [slope('cal 1', 1.5), slope('cal 1', 1.4)])).toEqual({ u: 0, sources: [] });
  });

  it('counts where the cell was calibrated anew in between: both calibrations, each once', () => {
    const { u, sources } = between([slope('cal 1', 1), slope('cal 1', 1.1)], [slope('cal 2', 1.5), slope('cal 2', 1.4)]);
    expect(u).toBeCloseTo(Math.hypot(0.01, 0.01), 12);
    expect(sources.map((s) => s.id)).toEqual(['cal 1', 'cal 2']);
    // The one that went over in the middle of B: half of it is left.
    expect(between([slope('cal 1', 1), slope('cal 1', 1)], [slope('cal 1', 1), slope('cal 2', 1), slope('cal 2', 1), slope('cal 1', 1)]).u).toBeCloseTo(Math.hypot(0.005, 0.005), 12);
  });

  it('leaves to the scatter what differs from run to run', () => {
    const zeroed = (n: number): Quantity => quantity(1, 'W', [{ source: { ...systematic(`zero ${n}`), shape: 'normal', dof: Infinity }, c_u: 0.02 }, { source: { id: `noise ${n}`, says: '', kind: 'random', shape: 'normal', dof: Infinity }, c_u: 0.1 }]);
    expect(between([zeroed(1), zeroed(2)], [zeroed(3), zeroed(4)]).u).toBe(0);
    expect(between([zeroed(1)], [zeroed(3), zeroed(4)]).u).toBeCloseTo(0.02, 12);
  });
});

describe('conditions', () => {
  it('are told with what they could explain by the West form', () => {
    const side = (hot_C: number, coolant_in_C: number, barometer_hPa: number | null): Conditions[] => [-0.5, 0, 0.5].map((d) => ({ hot_C: hot_C + d, coolant_in_C, room_C: 20, barometer_hPa }));
    const report = covariates(side(300, 20, 1000), side(310, 22, 1010));
    const form = (hot: number, cold: number, p: number): number => (p * (hot - cold)) / (hot + cold + 2 * 273.15);
    expect(report.could_explain).toBeCloseTo(form(310, 22, 1010) / form(300, 20, 1000) - 1, 3);
    expect(report.equal_temperature).toBe(false);
    const [hot, , room] = report.covariates;
    expect(hot?.difference).toBeCloseTo(10, 9);
    expect(hot?.interval95?.[0]).toBeCloseTo(10 - 2.776445 * Math.sqrt(0.25 / 3 * 2), 5);
    expect(room?.could_explain).toBeNull();
    expect(covariates(side(300, 20, null), side(301, 20.5, null)).equal_temperature).toBe(true);
    expect(covariates([unmeasured], side(300, 20, 1000))).toMatchObject({ could_explain: null, equal_temperature: null });
  });
});

describe('builds at common speeds', () => {
  it('differ as their curves do, which the peak alone does not show', () => {
    const curve = (stall: number, free_rad_s: number): ReturnType<typeof fitCurve> =>
      fitCurve(Array.from({ length: 8 }, (_, i) => 20 + 10 * i).map((w) => ({ speed_rad_s: w, torque_Nm: known(stall * (1 - w / free_rad_s), 'Nm', 1e-5, { id: `p ${w}`, says: '', kind: 'random' }) })));
    const a = [curve(0.03, 120), curve(0.0301, 120), curve(0.0299, 120)];
    const b = [curve(0.024, 160), curve(0.0241, 160), curve(0.0239, 160)];
    const at = atCommonSpeeds(a, b, []);
    expect(at).toHaveLength(5);
    expect(at[0]?.difference).toBeCloseTo((0.024 * (1 - 20 / 160)) / (0.03 * (1 - 20 / 120)) - 1, 4);
    expect(at[0]?.difference).toBeLessThan(0);
    expect(at[4]?.difference).toBeGreaterThan(0);
    expect(at[4]?.interval95[0]).toBeGreaterThan(0);
    expect(atCommonSpeeds(a, [], [])).toEqual([]);
  });
});

describe('a verdict in full', () => {
  const ledger = [[11, 12, 13].map((id, i) => run(id, 1 + 0.03 * (i - 1))), [14, 15, 16].map((id, i) => run(id, 2 + 0.06 * (i - 1)))];

  it('names order, drift, looks, and what is not the same on both sides', () => {
    const cal = (id: string, P: number): Quantity => known(P, 'W', 0.02 * P, systematic(id));
    const report = verdictReport({
      a: [run(1, cal('cell calibration 1', 1)), run(2, cal('cell calibration 1', 1.02)), run(3, cal('cell calibration 1', 0.99))],
      b: [run(4, cal('cell calibration 2', 1.12)), run(5, cal('cell calibration 2', 1.13)), run(6, cal('cell calibration 2', 1.1), { lacks: 'a zero after' })],
      ledger, change_warning: '2 parts differ', looks: [],
    });
    expect(report.order.join('')).toBe('AAABBB');
    expect(report.drift_left).toBe(3);
    expect(report.look).toMatchObject({ look: 1, extra: 0 });
    expect(report.between.u).toBeCloseTo(0.02 * Math.SQRT2, 9);
    for (const part of ['2 parts differ', '3.0 runs after A', 'cell calibration 1', '1 of 6 runs']) expect(report.warnings.join('\n')).toContain(part);
  });

  it('says nothing of what is alike', () => {
    const same = (id: number, P: number): ComparedRun => run(id, known(P, 'W', 0.02 * P, systematic('cell')));
    const report = verdictReport({ a: [same(1, 1), same(4, 1.01), same(5, 0.99)], b: [same(2, 1.15), same(3, 1.14), same(6, 1.16)], ledger, change_warning: null, looks: [] });
    expect(report.warnings).toEqual([]);
    expect(report.says).toBe('better');
  });
});

describe('a verdict before anything can be compared', () => {
  const asked = { ledger: [[run(9, 2)]], change_warning: null, looks: [] };

  it('says what is known so far, and how many runs are to come', () => {
    const report = verdictReport({ a: [run(1, 1)], b: [run(2, known(1.2, 'W', 0.1, systematic('cell')))], ...asked });
    expect(report.says).toBe('cannot tell yet (2 more a side until the first look)');
    expect(report.verdict).toMatchObject({ word: 'cannot_tell', n: [1, 1], interval95: null, p: null, yardstick: null, needed: 3 });
    expect(report.verdict.difference).toBeCloseTo(0.2, 12);
    expect(report.warnings.join('\n')).toContain('no build was run twice');
    // There is no scatter that anything could be added to.
    expect(report.warnings.join('\n')).not.toContain('added to the scatter');
    expect(report.at_speeds).toEqual([]);
  });

  it('names the side that has none', () => {
    const report = verdictReport({ a: [], b: [run(2, 1.2), run(3, 1.3)], ...asked });
    expect(report.says).toBe('cannot tell yet (3 more of A, 1 more of B until the first look)');
    expect(report.verdict.difference).toBeNull();
    expect(report.warnings).toEqual(['A has no run with this result: nothing is compared']);
    expect(verdictReport({ a: [], b: [], ...asked }).says).toBe('cannot tell yet (3 more a side until the first look)');
  });

  it('compares as soon as another build was run twice', () => {
    const report = verdictReport({ a: [run(1, 1)], b: [run(2, 1.2)], ledger: [[run(9, 2), run(10, 2.1)]], change_warning: null, looks: [] });
    expect(report.verdict.yardstick?.from).toBe('ledger');
    expect(report.verdict.interval95).not.toBeNull();
    expect(report.says).toBe('cannot tell yet (2 more a side until the first look)');
  });
});

describe('words and picture', () => {
  const { verdict: base } = verdictReport({ a: [1, 4, 5].map((id, i) => run(id, 1 + 0.001 * i)), b: [2, 3, 6].map((id, i) => run(id, 1.02 + 0.001 * i)), ledger: [], change_warning: null, looks: [] });
  if (base.yardstick === null) throw new Error('there are runs enough');

  it('are those of the trade', () => {
    expect(inWords(base)).toMatch(/^better/);
    expect(inWords({ ...base, word: 'same' })).toBe('same within 5 %');
    expect(inWords({ ...base, word: 'cannot_tell', needed: 7 })).toBe('cannot tell yet (4 more a side)');
    expect(inWords({ ...base, word: 'cannot_tell', needed: null })).toContain('more than the 8');
    expect(inWords({ ...base, word: 'cannot_tell', n: [8, 8], needed: null })).toContain('used up');
    expect(inWords({ ...base, word: 'cannot_tell', n: [1, 2], level: null })).toBe('cannot tell yet (2 more of A, 1 more of B until the first look)');
  });

  it('show where the interval lies', () => {
    const line = picture([-0.02, 0.04], 0.01, 0.05, 61);
    expect(line).toHaveLength(61);
    expect(line.indexOf('|')).toBe(30);
    expect(line.indexOf('=')).toBeLessThan(30);
    expect(line.indexOf('o')).toBeGreaterThan(30);
    expect(picture([-5, 5], 0, 0.05, 41)).toMatch(/^<.*>$/);
  });
});

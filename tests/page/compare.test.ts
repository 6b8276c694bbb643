import { describe, expect, it } from 'vitest';

import { budgetRows, comparable, comparedFirst, curveRows, factRows } from '../../host/page/src/screens/calibrate/compare_view.js';
import { checkText, retiredText, utcWhen } from '../../host/page/src/screens/calibrate/view.js';
import { compare } from '../../host/store/records/compare.js';
import type { KeptCalibration } from '../../host/store/records/calibrations.js';
import { draft, loadModel } from '../host/store/support/kept.js';

const kept = (cal_id: number, slope: number, sd = 3): KeptCalibration => {
  const model = loadModel([8000, slope, 0], { residual_sd_count: sd, sources: [{ source: { id: `cal ${cal_id}`, says: 'scatter', kind: 'systematic', shape: 'normal', dof: null }, c_u: [1, slope * 2e-4, 0] }] });
  return { ...draft({ model }), cal_id, line_id: cal_id, made_utc_us: Date.UTC(2026, 0, 15, 8 + cal_id) * 1000, retired_utc_us: null, retired_remark: null };
};

describe('two calibrations beside each other', () => {
  const c = compare(kept(1, 500_000), kept(2, 502_000, 12));

  it('show when, the slope, its interval and the residuals, with the digits that the intervals bear', () => {
    expect(factRows(c)).toEqual([
      ['Made', '2026-01-15 09:00 UTC', '2026-01-15 10:00 UTC', ''],
      ['The slope of the load cell', '500000 \u00b1 196 counts/Nm', '502000 \u00b1 197 counts/Nm', '+0.400 \u00b1 0.056 %'],
      ['Its interval (95 %), of itself', '0.039 %', '0.039 %', ''],
      ['Residuals: scatter of the points', '3.0 counts', '12.0 counts', '4.0 times'],
    ]);
  });

  it('show what each makes of the same counts', () => {
    expect(curveRows(c).at(-1)).toEqual(['100000', '0.200000', '0.199203', '\u22120.000797 Nm', '0.000056']);
    expect(curveRows({ ...c, curve: [{ raw: 5, a: 1, b: null, difference: null, u_difference: null }] })).toEqual([['5', '1.000', 'none there', '', '']]);
  });

  it('show the sources of their doubt, those of one name in one line', () => {
    expect(c.budget).toHaveLength(2);
    expect(budgetRows(c)).toEqual([['scatter', '0.000040 Nm', '0.000040 Nm']]);
  });
});

describe('what one is compared with', () => {
  const line = (cal_id: number, channel = 'load', retired: string | null = null) => ({ cal_id, channel, retired });
  const list = [line(1), line(2, 'flow'), line(3, 'load', '2026'), line(4), line(5, 'hot')];
  it('is of its kind, first the one before it that stands', () => {
    expect(comparable(list, line(4)).map((c) => c.cal_id)).toEqual([3, 1]);
    expect([4, 3, 1].map((n) => comparedFirst(list, line(n))?.cal_id)).toEqual([1, 1, 4]);
    expect(comparedFirst([line(1), line(3, 'load', '2026')], line(3))?.cal_id).toBe(1);
    expect(comparedFirst(list, line(5, 'hot'))).toBeUndefined();
  });
});

describe('a zero, a check mass or an entry', () => {
  it('stands, or was taken back for a reason', () => {
    expect(retiredText({ retired_utc_us: null, retired_remark: null })).toBe('stands');
    expect(retiredText({ retired_utc_us: 5, retired_remark: 'a mass hung there' })).toBe('taken back: a mass hung there');
    expect(utcWhen(Date.UTC(2026, 4, 3, 10, 20) * 1000)).toBe('2026-05-03 10:20');
  });
  it('a check says how far it was off', () => {
    const check = { expected: 0.0589, read: 0.0591, unit: 'Nm', passed: true };
    expect(checkText(check)).toBe('passed, +0.20 mNm off');
    expect(checkText({ ...check, read: 0.05, passed: false })).toBe('FAILED, \u22128.9 mNm off');
    expect(checkText({ ...check, passed: null })).toBe('there was no calibration to read it by');
  });
});

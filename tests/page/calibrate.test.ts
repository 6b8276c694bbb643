import { describe, expect, it } from 'vitest';

import { firstVisit, missingOf } from '../../host/page/src/lib/missing.js';
import { adviceOf, barsOf, endText, plotOf, standingText, toldText } from '../../host/page/src/screens/calibrate/view.js';
import type { CalibrationLine } from '../../host/serve/told_lines.js';

describe('the budget as bars', () => {
  const line = (says: string, share: number, cure: string | null = null): { says: string; share: number; cure: string | null } => ({ says, share, cure });

  it('has the largest first, the small ones together, and adds to 100 %', () => {
    const bars = barsOf([line('noise', 0.2), line('the masses', 0.7, 'masses of a better class'), ...Array.from({ length: 20 }, (_, i) => line(`small ${i}`, 0.005))]);
    expect(bars.map((b) => b.says)).toEqual(['the masses', 'noise', 'small 0', 'small 1', 'small 2', 'small 3', 'all else']);
    expect(bars.reduce((s, b) => s + b.percent, 0)).toBeCloseTo(100, 9);
  });

  it('advises about the largest, in the words of its cure', () => {
    expect(adviceOf(barsOf([line('the masses', 0.7, 'masses of a better class')]))).toBe('the masses makes 70 % of the doubt: masses of a better class.');
    expect(adviceOf([])).toBeNull();
  });

  it('tells a value with the digits that its interval bears', () => {
    expect(toldText({ value: 0.05812, U95: 0.00021, unit: 'Nm', budget: [] })).toBe('58.12 \u00b1 0.21 mNm');
  });
});

describe('the points as they come', () => {
  const points = [0, 50, 100, 100, 50, 0].map((mass_g, i) => ({ name: `${mass_g} g`, mass_g, count: 1000 + 10 * mass_g + (i === 2 ? 30 : 0) }));

  it('show a wrong mass before there is a fit', () => {
    const plot = plotOf(points, null, 600, 200);
    expect(plot?.kind).toBe('readings');
    const worst = plot?.dots.toSorted((a, b) => Math.abs(b.count) - Math.abs(a.count))[0];
    expect(worst?.count).toBeGreaterThan(15);
    expect(worst?.count).toBeLessThan(30);
    expect(plot?.dots.indexOf(worst ?? plot.dots[0] as never)).toBe(2);
    for (const d of plot?.dots ?? []) expect(d.y).toBeGreaterThan(0);
  });

  it('are the residuals of the fit where it has one for each', () => {
    expect(plotOf(points, { residuals: [1, -2, 3, 0, 0, 0] }, 600, 200)).toMatchObject({ kind: 'residuals' });
    expect(plotOf(points, { residuals: [1, -2] }, 600, 200)?.kind).toBe('readings');
  });

  it('are not drawn before a line could go through them', () => {
    expect(plotOf(points.slice(0, 2), null, 600, 200)).toBeNull();
    expect(plotOf([points[0], points[0], points[0]] as never, null, 600, 200)).toBeNull();
    expect(plotOf([{ name: 'a bucket' }, {}, {}], null, 600, 200)).toBeNull();
  });
});

describe('a kept calibration', () => {
  const c: CalibrationLine = { cal_id: 1, channel: 'load', kind: 'torque', from_t: null, to_t: null, made: '', author: '', remark: '', replaces: null, replaced_by: null, retired: null, retired_remark: null, in_force: 0 };
  it('stands as it does', () => {
    expect([{ ...c, in_force: 1 as const }, { ...c, replaced_by: 3 }, { ...c, retired: '2026-05-03', retired_remark: 'wrong mass', in_force: 1 as const }, c].map(standingText)).toEqual(['in force', 'corrected by 3', 'taken back: wrong mass', 'earlier']);
  });
});

describe('what a bench still needs', () => {
  it('is all of it at the first visit, each with one way', () => {
    const all = missingOf({ board_live: true, board_reason: null, calibrated: [], builds: 0 });
    expect(all.map((m) => m.href)).toEqual(['#/calibrate/load', '#/calibrate/wheel', '#/calibrate/flow', '#/builds']);
    for (const board_reason of ['no port', 'no port.']) expect(missingOf({ board_live: false, board_reason, calibrated: ['load', 'flow'], builds: 1 })).toMatchObject([{ says: expect.stringMatching(/: no port\. Plug it in/) as unknown }]);
  });
  it('leads by itself only where torque was never to be had, or no board is', () => {
    const known = { board_live: true, board_reason: null, calibrated: ['load', 'speed'], builds: 0 };
    expect([firstVisit(missingOf(known)), firstVisit(missingOf({ ...known, calibrated: [] })), firstVisit(missingOf({ ...known, board_live: false }))]).toEqual([false, true, true]);
    expect(missingOf({ ...known, board_live: false })[0]?.href).toBe('#/connect');
  });
  it('is nothing where all is there, and not guessed where it is not known', () => {
    expect(missingOf({ board_live: true, board_reason: null, calibrated: ['load', 'speed', 'flow'], builds: 2 })).toEqual([]);
    expect(missingOf({ board_live: true, board_reason: null, calibrated: null, builds: null })).toEqual([]);
  });

  it('ends a work with what was found, not only with that it was kept', () => {
    const kept = { kind: 'told', text: 'Kept: check 1.' };
    expect(endText([{ kind: 'taken', text: '200 g: 382530.0 counts' }, { kind: 'told', text: 'The check mass passes.' }, kept])).toBe('The check mass passes. Kept: check 1.');
    expect(endText([{ kind: 'taken', text: 'zero again' }, kept])).toBe('Kept: check 1.');
    expect(endText([])).toBe('Ended.');
  });
});

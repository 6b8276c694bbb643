import { describe, expect, it } from 'vitest';

import { preset } from '../../host/page/src/lib/units.js';
import { overlayOf } from '../../host/page/src/screens/runs/overlay.js';
import { stripOf } from '../../host/page/src/screens/runs/strip.js';
import { cell, runLines, shareCell } from '../../host/page/src/screens/runs/view.js';
import type { RunTold } from '../../host/page/src/screens/runs/view.js';

const run = (more: Partial<RunTold>): RunTold => ({ run_id: 1, name: 'one', note: '', archived: 0, build: null, from_utc_us: Date.UTC(2026, 4, 3, 10, 20) * 1000, recorded_s: 900, excluded_s: 0, going_on: 0, verified: 0, lacks: ['a zero before'], ...more });

describe('the list of runs', () => {
  it('tells the newest first, and what an unverified one lacks', () => {
    const lines = runLines([run({}), run({ run_id: 2, name: 'two', from_utc_us: Date.UTC(2026, 4, 4) * 1000, verified: 1, lacks: [], build: 'A', excluded_s: 30 })], false);
    expect(lines.map((l) => l.name)).toEqual(['two', 'one']);
    expect(lines[0]).toMatchObject({ standing: 'verified', build: 'A', length: '15 min, 30 s left out' });
    expect(lines[1]).toMatchObject({ standing: 'unverified: lacks a zero before', build: 'no build', when: '2026-05-03 10:20 UTC' });
  });

  it('leaves archived ones out until they are asked for', () => {
    const runs = [run({}), run({ run_id: 2, archived: 1 })];
    expect(runLines(runs, false).map((l) => l.run_id)).toEqual([1]);
    expect(runLines(runs, true).map((l) => l.run_id).toSorted()).toEqual([1, 2]);
  });
});

describe('a value in a table', () => {
  it('is in the unit that is chosen, with its interval', () => {
    expect(cell('torque_Nm', { value: 0.0312, U95: 0.0004, state: 'measured', reason: null }, preset)).toEqual({ text: '31.20 \u00b1 0.40', why: null });
    expect(shareCell({ value: 0.123, U95: 0.011, state: 'measured', reason: null }).text).toBe('12.3 \u00b1 1.1 %');
  });

  it('is a dash with its reason where it was not measured, never 0', () => {
    expect(cell('hot_C', { value: null, state: 'not_measured', reason: 'the wire is open' }, preset)).toEqual({ text: '\u2013', why: 'the wire is open' });
    expect(cell('hot_C', undefined, preset).text).toBe('\u2013');
  });
});

describe('curves over each other', () => {
  const curve = (speed_rpm: number, torque_Nm: number): Parameters<typeof overlayOf>[0][number] => ({
    points: [{ n: 1, speed_rpm: { value: speed_rpm, U95: 5 }, torque_Nm: { value: torque_Nm, U95: 0.001 } }],
    band: [{ speed_rpm: speed_rpm / 2, torque_Nm: { value: torque_Nm, U95: 0.001 } }, { speed_rpm, torque_Nm: { value: torque_Nm, U95: 0.001 } }],
  });
  const box = { width: 700, height: 400, left: 60, right: 10, top: 10, bottom: 40 };

  it('stand on the same axes, all within the box', () => {
    const { curves, x, y } = overlayOf([curve(500, 0.02), curve(1000, 0.04)], box, 1000);
    const numbers = curves.flatMap((c) => [...`${c.line} ${c.bars.join(' ')}`.matchAll(/[\d.]+/g)].map((m) => Number(m[0])));
    expect(Math.max(...numbers)).toBeLessThanOrEqual(700);
    const heights = curves.map((c) => Number(/M[\d.]+ ([\d.]+)V/.exec(c.bars[0] ?? '')?.[1]));
    // Twice the torque stands higher: y counts down.
    expect(heights[1]).toBeLessThan(heights[0] ?? 0);
    expect(y.map((t) => t.value)).toContain(40);
    expect(x.map((t) => t.value)).toContain(1000);
  });

  it('has a band only where there are two places of it', () => {
    const { curves } = overlayOf([{ points: [], band: [] }], box, 1);
    expect(curves[0]).toEqual({ line: '', band: '', bars: [], label: null });
  });
});

describe('a strip of raw rows', () => {
  it('breaks where nothing was recorded, and stays within its height', () => {
    const shape = stripOf({ min: [1, null, 2], mean: [1.5, null, 3], max: [2, null, 4] }, 300, 100);
    expect(shape?.mean.match(/M/g)).toHaveLength(2);
    expect(shape?.mean).not.toContain('L');
    const heights = [...(shape?.band ?? '').matchAll(/ ([\d.]+)V([\d.]+)/g)].flatMap((m) => [Number(m[1]), Number(m[2])]);
    expect(Math.min(...heights)).toBeGreaterThan(0);
    expect(Math.max(...heights)).toBeLessThan(100);
    expect(stripOf({ min: [null], mean: [null], max: [null] }, 300, 100)).toBeNull();
  });
});

import { describe, expect, it } from 'vitest';

import { sheetOf } from '../../../../host/sense/sheet.js';
import { coolantDifference } from '../../../../host/sense/thermal/coolant_difference.js';
import type { CoolantModels, CoolantSums } from '../../../../host/sense/thermal/coolant_difference.js';
import { isothermalMatch } from '../../../../host/sense/thermal/isothermal_match.js';
import { swappedSensors } from '../../../../host/sense/thermal/swapped.js';
import { tableModel } from '../../../../host/sense/thermal/thermistor_model.js';
import type { MatchModel } from '../../../../host/sense/calibration/model.js';
import { expanded } from '../../../../host/sense/uncertainty/coverage.js';
import { u } from '../../../../host/sense/uncertainty/quantity.js';
import type { Quantity } from '../../../../host/sense/uncertainty/quantity.js';
import { Bench, plain, ratioOf, sumOfRatio } from './bench.js';
import { normalOf, partU, seeded, spread, table3950 } from './support.js';

const divider = { fixed_ohm: 10_000, fixed_to: 'supply' } as const;
const sheet = sheetOf();
const model = (sensor: string): CoolantModels['in'] => tableModel(table3950, [0, 80], divider, sheet, { sensor: `rig 1: ${sensor}`, type: 'thermistor 3950' });
const models = { in: model('coolant in 1'), out: model('coolant out 1') };
const idsOf = (span: string): { rig: string; type: string; span: string } => ({ rig: 'rig 1', type: 'thermistor 3950', span });
const apart = (rows: readonly CoolantSums[], match: MatchModel | null, span = 'boot 1, tick 900'): Quantity => {
  const { quantity, reason } = coolantDifference(rows, models, match, sheet, idsOf(span));
  if (quantity === null) throw new Error(reason ?? '');
  return quantity;
};
const matched = (rows: readonly CoolantSums[]): MatchModel => {
  const m = isothermalMatch(rows, 60, models, sheet, idsOf('boot 1, tick 5'));
  if (m.state !== 'matched') throw new Error(m.reason);
  // As the store keeps it.
  return JSON.parse(JSON.stringify(m.model)) as MatchModel;
};

describe('the coolant difference', () => {
  const bench = new Bench(77, 0.7);

  it('of unmatched sensors is as good as their parts, of matched ones far better', () => {
    const bare = apart(bench.rows(40, 25, 30), null);
    expect(u(bare)).toBeGreaterThan(0.15);
    expect(partU(bare, 'adc offset')).toBeLessThan(0.01);
    expect(partU(bare, 'heats itself')).toBeLessThan(0.01);
    const match = matched(bench.rows(240, 22, 22));
    const better = apart(bench.rows(40, 25, 30), match);
    expect(Math.abs(better.value - 5)).toBeLessThan(expanded(better).U);
    expect(u(better)).toBeLessThan(0.3 * u(bare));
    expect(partU(better, 'thermistor R')).toBeLessThan(0.1 * partU(bare, 'thermistor R'));
  });

  it('after a match doubts grow with the distance from its bath', () => {
    const match = matched(bench.rows(240, 22, 22));
    const near = apart(bench.rows(40, 22, 22), match);
    const far = apart(bench.rows(40, 45, 45), match);
    const further = apart(bench.rows(40, 65, 65), match);
    expect(partU(near, 'thermistor B')).toBeLessThan(0.005);
    expect(partU(far, 'thermistor B')).toBeGreaterThan(0.1);
    expect(partU(further, 'thermistor B')).toBeGreaterThan(1.5 * partU(far, 'thermistor B'));
  });

  it('keeps the full step of a converter that nothing dithers', () => {
    const still = new Bench(78, 0);
    const q = apart(still.rows(40, 25, 30), null);
    expect(partU(q, 'step')).toBeCloseTo(Math.SQRT2 * 0.098 * Math.sqrt(1 / 12), 2);
    const m = isothermalMatch(still.rows(240, 22, 22), 60, models, sheet, idsOf('x'));
    expect(m.state === 'matched' && m.warning).toContain('steps');
  });

  it('does not take for doubt what both sensors follow together', () => {
    const normal = normalOf(seeded(9));
    const waves = Array.from({ length: 80 }, (_, i) => {
      const t = 30 + 2 * Math.sin(i / 6);
      return { in: sumOfRatio(ratioOf(t), plain(0.7), normal), out: sumOfRatio(ratioOf(t + 4), plain(0.7), normal) };
    });
    expect(partU(apart(waves, null), 'noise')).toBeLessThan(0.01);
  });

  it('has the state of the sensor that fails', () => {
    const [row] = bench.rows(1, 25, 30);
    if (row === undefined) throw new Error();
    const dead = { ...row, out: { sum: 64 * 1023, spread: 0 } };
    expect(coolantDifference([dead], models, null, sheet, idsOf('x'))).toMatchObject({ state: 'high_end', quantity: null, reason: 'coolant out is open: see to its plug' });
    expect(isothermalMatch(Array.from({ length: 40 }, () => dead), 60, models, sheet, idsOf('x'))).toMatchObject({ state: 'refused', reason: 'coolant out is open: see to its plug' });
  });

  it.each([
    [0.7, 'matched'],
    [0.7, 'bare'],
    [0.1, 'matched'],
    [0, 'matched'],
  ] as const)('errs by as much as it says, with %d steps of noise, %s', (noise_LSB, how) => {
    const random = seeded(5);
    const z: number[] = [];
    let held = 0;
    const n = 200;
    for (let i = 0; i < n; i++) {
      const b = new Bench(1000 + i, noise_LSB);
      const bath = 18 + 8 * random();
      const inlet = 15 + 15 * random();
      const rise = 1 + 8 * random();
      const q = apart(b.rows(12, inlet, inlet + rise), how === 'bare' ? null : matched(b.rows(20, bath, bath)));
      z.push((q.value - rise) / u(q));
      if (Math.abs(q.value - rise) <= expanded(q).U) held++;
    }
    const { mean, sd } = spread(z);
    expect(Math.abs(mean)).toBeLessThan(3 / Math.sqrt(n));
    expect(sd).toBeGreaterThan(0.87);
    expect(sd).toBeLessThan(1.13);
    expect(held / n).toBeGreaterThan(0.91);
  });
});

describe('the match refuses', () => {
  const bench = new Bench(79, 0.7);
  const reason = (rows: readonly CoolantSums[], duration_s = 60): string => {
    const m = isothermalMatch(rows, duration_s, models, sheet, idsOf('x'));
    return m.state === 'refused' ? m.reason : '';
  };
  it('too short a look', () => {
    expect(reason(bench.rows(10, 22, 22))).toContain('too few');
    expect(reason(bench.rows(60, 22, 22), 20)).toContain('60 s');
  });
  it('a bath that moves', () => {
    const rows = Array.from({ length: 60 }, (_, i) => bench.rows(1, 22 + 0.01 * i, 22 + 0.01 * i)).flat();
    expect(reason(rows)).toContain('warms by 0.6');
    expect(reason(rows, 600)).toBe('');
  });
  it('sensors that move apart', () => {
    expect(reason(Array.from({ length: 60 }, (_, i) => bench.rows(1, 22 - 0.002 * i, 22 + 0.002 * i)).flat())).toContain('apart');
  });
  it('an offset that no part of the sheet has', () => {
    expect(reason(bench.rows(60, 22, 25))).toContain('same bath');
  });
});

describe('swapped sensors', () => {
  const bench = new Bench(80, 0.7);
  const match = matched(bench.rows(240, 22, 22));
  const seen = (rise: number, n = 3): Quantity[] => Array.from({ length: n }, (_, i) => apart(bench.rows(20, 25, 25 + rise), match, `t${i}`));
  it('are told with the evidence when out stays below in while heat flows', () => {
    const { state, evidence } = swappedSensors(seen(-2), true);
    expect(state).toBe('looks_swapped');
    expect(evidence).toMatch(/-[12]\.\d\d K \(\+-0\.\d\d\)/);
  });
  it('are not told without heat, from few readings, or within the doubt', () => {
    expect(swappedSensors(seen(-2), false).state).toBe('no_heat');
    expect(swappedSensors(seen(-2, 2), true).state).toBe('cannot_tell');
    const slightly = seen(-2).map((q) => ({ ...q, value: -0.5 * expanded(q).U }));
    expect(swappedSensors(slightly, true).state).toBe('cannot_tell');
    expect(swappedSensors([...seen(-2, 2), ...seen(2, 1)], true).state).toBe('cannot_tell');
    expect(swappedSensors(seen(2), true).state).toBe('right');
  });
});

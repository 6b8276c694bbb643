import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { ratioOfThermistor } from '../../../../host/sense/physics/divider.js';
import { sheetOf } from '../../../../host/sense/sheet.js';
import { betaModel, steinhartHartModel, tableModel } from '../../../../host/sense/thermal/thermistor_model.js';
import type { ThermistorModel } from '../../../../host/sense/calibration/model.js';
import { waterTemperature } from '../../../../host/sense/thermal/water_temperature.js';
import type { InputSum } from '../../../../host/sense/thermal/water_span.js';
import { budget } from '../../../../host/sense/uncertainty/budget.js';
import { u } from '../../../../host/sense/uncertainty/quantity.js';
import type { Quantity } from '../../../../host/sense/uncertainty/quantity.js';
import { Bench, plain, ratioOf, sumOfRatio } from './bench.js';
import { normalOf, partU, rowAt, seeded, spread, table3950 } from './support.js';

const divider = { fixed_ohm: 10_000, fixed_to: 'supply' } as const;
const sheet = sheetOf();
const own = { sensor: 'rig 1: coolant in 1', type: 'thermistor 3950' };
const ids = { rig: 'rig 1', input: 'coolant in', type: 'thermistor 3950', span: 'boot 1, tick 5' };
const byTable = tableModel(table3950, [0, 80], divider, sheet, own);
const bare = (ratio: number): InputSum => sumOfRatio(ratio, plain(0), () => 0);
const read = (sums: readonly InputSum[], model: ThermistorModel = byTable): Quantity => {
  const w = waterTemperature(sums, model, sheet, ids);
  if (w.quantity === null) throw new Error(`${w.state}: ${w.reason}`);
  return w.quantity;
};

describe('a thermistor through its divider', () => {
  it('is right at the published rows, to half a step and the roundings of the table', () => {
    for (const { t_C, R_ohm } of table3950.filter((r) => r.t_C >= 1 && r.t_C <= 79)) {
      const q = read([bare(ratioOfThermistor(R_ohm, divider))]);
      expect(Math.abs(q.value - t_C)).toBeLessThan(partU(q, 'step') * Math.sqrt(3) + 0.05);
    }
  });

  it('is the same with the fixed resistor at the other end', () => {
    const turned = { fixed_ohm: 10_000, fixed_to: 'ground' } as const;
    const model = tableModel(table3950, [0, 80], turned, sheet, own);
    const other = read([bare(ratioOfThermistor(rowAt(40).R_ohm, turned))], model);
    const one = read([bare(ratioOfThermistor(rowAt(40).R_ohm, divider))]);
    expect(Math.abs(other.value - one.value)).toBeLessThan(1e-9);
    expect(partU(other, 'thermistor R')).toBeCloseTo(partU(one, 'thermistor R'), 9);
    // The same codes from the other end: the converter errs the other way.
    expect(waterTemperature([{ sum: 0, spread: 0 }], model, sheet, ids)).toMatchObject({ state: 'low_end', quantity: null, reason: expect.stringContaining('open') as unknown });
  });

  it('finds its way back from any temperature to half a step, and with dither far nearer', () => {
    const normal = normalOf(seeded(3));
    fc.assert(
      fc.property(fc.double({ min: 2, max: 78, noNaN: true }), (t_C) => {
        const one = read([bare(ratioOf(t_C))]);
        const step_K = partU(one, 'step') * Math.sqrt(12);
        expect(Math.abs(one.value - t_C)).toBeLessThan(0.51 * step_K);
        expect(step_K).toBeGreaterThan(0.08);
        const dithered = read(Array.from({ length: 20 }, () => sumOfRatio(ratioOf(t_C), plain(0.7), normal)));
        expect(Math.abs(dithered.value - t_C)).toBeLessThan(0.15 * step_K);
        expect(partU(dithered, 'step')).toBeLessThan(0.01 * step_K);
      }),
      { seed: 4, numRuns: 60 },
    );
  });

  it('says by state what gives no number', () => {
    const state = (sum: number): unknown => waterTemperature([{ sum, spread: 0 }], byTable, sheet, ids);
    expect(state(0)).toMatchObject({ state: 'low_end', quantity: null, reason: 'coolant in is shorted: see to its wires' });
    expect(state(64 * 1023)).toMatchObject({ state: 'high_end', quantity: null, reason: 'coolant in is open: see to its plug' });
    expect(state(64 * 100)).toMatchObject({ state: 'out_of_range', quantity: null });
    expect(state(1)).toMatchObject({ state: 'out_of_range', quantity: null });
    expect(waterTemperature([], byTable, sheet, ids)).toMatchObject({ state: 'none', quantity: null });
  });
});

describe('what a thermistor may be off by', () => {
  /** 1 % of R at 25 C: B 3950 makes 4.4 % a kelvin. */
  it('is that of R at 25 C, and B grows from there', () => {
    const at = (t_C: number): Quantity => read([bare(ratioOf(t_C))]);
    expect(partU(at(25), 'thermistor R')).toBeCloseTo((0.01 * 298.15 ** 2) / 3930 / Math.sqrt(3), 2);
    expect(partU(at(25), 'thermistor B')).toBeLessThan(0.01);
    // dT = T^2 (1/T0 - 1/T) of 1 %.
    expect(partU(at(60), 'thermistor B')).toBeCloseTo((0.01 * 333.15 ** 2 * (1 / 298.15 - 1 / 333.15)) / Math.sqrt(3), 2);
    expect(partU(at(25), 'fixed resistor')).toBeCloseTo(partU(at(25), 'thermistor R') / 10, 9);
    expect(partU(at(25), 'heats itself')).toBeCloseTo(0.625 / 5 / Math.sqrt(3), 3);
    expect(partU(at(25), 'adc nonlinearity')).toBeCloseTo(((0.5 / Math.sqrt(3)) * 4 * 298.15 ** 2) / 3930 / 1024, 2);
  });

  it.each([0, 10, 40, 50, 60, 80])('covers what one beta misses of the published table at %d C', (t_C) => {
    const off = (model: ThermistorModel): [number, number] => {
      const q = read([bare(ratioOfThermistor(rowAt(t_C).R_ohm, divider))], model);
      return [Math.abs(q.value - t_C), partU(q, 'one beta') * Math.sqrt(3)];
    };
    // B25/50 as its table gives it.
    const [error_K, half_K] = off(betaModel({ R25_ohm: 10_000, beta_K: 3946, beta_to_C: 50 }, divider, sheet, own));
    expect(error_K).toBeLessThan(half_K + 0.08);
    if (t_C === 50) expect(half_K).toBeLessThan(0.01);
    if (t_C === 80) expect(half_K).toBeGreaterThan(0.3);
    const [, told_K] = off(betaModel({ R25_ohm: 10_000, beta_K: 3946, beta_to_C: 50, other: { beta_K: 3996, to_C: 85 } }, divider, sheet, own));
    expect(error_K).toBeLessThan(told_K + 0.12);
  });

  it.each([0, 10, 25, 40, 50, 60, 64])('covers what Steinhart-Hart through 0, 25 and 60 C misses at %d C', (t_C) => {
    const point = (t: number): { t_C: number; R_ohm: number; u_t_K: number; u_R_ohm: number } => ({ ...rowAt(t), u_t_K: 0.05, u_R_ohm: 0 });
    const model = steinhartHartModel({ points: [point(0), point(25), point(60)], R_by: 'divider' }, divider, sheet, own);
    const q = read([bare(ratioOfThermistor(rowAt(t_C).R_ohm, divider))], model);
    expect(Math.abs(q.value - t_C)).toBeLessThan(partU(q, 'Steinhart-Hart') * Math.sqrt(3) + 0.08);
    if (t_C === 0 || t_C === 25 || t_C === 60) expect(partU(q, 'point')).toBeCloseTo(0.05, 2);
    expect(partU(q, 'fixed')).toBe(0);
    expect(partU(q, 'thermistor R')).toBe(0);
  });

  it('knows whether the points were measured here, elsewhere or by the maker', () => {
    const point = (t: number): { t_C: number; R_ohm: number; u_t_K: number; u_R_ohm: number } => ({ ...rowAt(t), u_t_K: 0, u_R_ohm: 5 });
    const lines = (R_by: 'divider' | 'meter' | 'data_sheet'): string[] =>
      budget(read([bare(ratioOf(30))], steinhartHartModel({ points: [point(10), point(25), point(60)], u_common_K: 0.1, R_by }, divider, sheet, own))).map((l) => l.source);
    expect(lines('divider').some((l) => l.includes('fixed resistor') || l.includes('thermistor R'))).toBe(false);
    expect(lines('meter')).toContain('rig 1: coolant in 1: fixed resistor');
    expect(lines('data_sheet')).toContain('rig 1: coolant in 1: thermistor R');
    const q = read([bare(ratioOf(30))], steinhartHartModel({ points: [point(10), point(25), point(60)], u_common_K: 0.1, R_by: 'divider' }, divider, sheet, own));
    expect(partU(q, 'thermometer')).toBeCloseTo(0.1, 2);
  });

  it.each([0, 0.15, 0.7])('errs by as much as it says, over parts within their limits, with %d steps of noise', (noise_LSB) => {
    const random = seeded(11);
    const warm = sheetOf({ thermistor_dissipation_mW_K: 100 });
    const z: number[] = [];
    for (let i = 0; i < 400; i++) {
      const t_C = 10 + 50 * random();
      const { quantity } = waterTemperature(new Bench(i + 1, noise_LSB).rows(4, t_C, t_C).map((r) => r.in), byTable, warm, ids);
      if (quantity === null) throw new Error('not read');
      z.push((quantity.value - t_C) / u(quantity));
    }
    const { mean, sd } = spread(z);
    expect(Math.abs(mean)).toBeLessThan(3 / Math.sqrt(400));
    expect(sd).toBeGreaterThan(0.9);
    expect(sd).toBeLessThan(1.1);
  });
});

import { describe, expect, it } from 'vitest';

import type { FlowReading } from '../../../../host/sense/flow.js';
import { bucketModel, pulseModel } from '../../../../host/sense/thermal/flow_model.js';
import type { BucketMeans, BucketRun } from '../../../../host/sense/thermal/flow_model.js';
import { flowQuantity } from '../../../../host/sense/thermal/flow_rate.js';
import { dof, expanded } from '../../../../host/sense/uncertainty/coverage.js';
import { known, u } from '../../../../host/sense/uncertainty/quantity.js';
import type { Quantity } from '../../../../host/sense/uncertainty/quantity.js';
import { normalOf, partU, seeded, spread } from './support.js';

const means: BucketMeans = { u_scale_share: 0.001, u_grams: 1, u_seconds: 0.2, density_kg_m3: null, id: 'cal: flow 1' };
const flowing = (pulse_rate_Hz: number): FlowReading => ({ state: 'flowing', pulse_rate_Hz, pulse_age_s: 0.1 });
const q = (f: { quantity: Quantity | null; reason: string | null }): Quantity => {
  if (f.quantity === null) throw new Error(f.reason ?? '');
  return f.quantity;
};
/** IF97 at 20 C and 101325 Pa: 998.207 kg/m3; 1.05 g/kg of buoyancy (1.2 kg/m3 of air). */
const grams = (litres: number): number => litres * 998.207 * (1 - 0.00105);
const run = (flow_Lpmin: number, seconds: number, f_Hz: number | null): BucketRun => ({ grams: grams((flow_Lpmin * seconds) / 60), seconds, pulses: f_Hz === null ? null : f_Hz * seconds, t_C: 20 });

describe('flow by bucket', () => {
  it('is grams over density and time, with buoyancy, and its scatter has n - 1 degrees of freedom', () => {
    const model = bucketModel([run(0.499, 60, null), run(0.5, 60, null), run(0.501, 60, null)], means);
    expect(model).toMatchObject({ kind: 'fixed', f_range_Hz: null });
    const f = flowQuantity([], model, 't');
    expect(f.state).toBe('fixed');
    expect(q(f).value).toBeCloseTo(0.5, 5);
    expect(partU(q(f), 'repeats')).toBeCloseTo(0.001 / Math.sqrt(3), 6);
    expect(partU(q(f), 'balance')).toBeCloseTo(0.0005, 6);
    expect(q(f).parts.find((p) => p.source.id.endsWith('repeats'))?.source.dof).toBe(2);
  });

  it('of one run is as good as balance and watch', () => {
    const f = q(flowQuantity([], bucketModel([run(0.5, 60, null)], means), 't'));
    expect(partU(f, 'repeats')).toBeCloseTo(0.5 * Math.hypot(1 / 499, 0.2 / 60), 5);
    expect(dof(f)).toBe(Infinity);
  });

  it('that differs by more than the hand explains says so of every later reading', () => {
    const model = bucketModel([run(0.45, 60, null), run(0.5, 60, null), run(0.55, 60, null)], means);
    expect(partU(q(flowQuantity([], model, 't')), 'varies')).toBeCloseTo(0.05, 2);
  });

  it('refuses what is no run', () => {
    expect(() => bucketModel([], means)).toThrow('no bucket');
    expect(() => bucketModel([{ grams: 0, seconds: 60, pulses: null, t_C: 20 }], means)).toThrow('above 0');
    expect(() => bucketModel([{ grams: 500, seconds: 0, pulses: null, t_C: 20 }], means)).toThrow('above 0');
  });

  it('of a mix takes the density entered', () => {
    const rho = known(1040, 'kg/m3', 5, { id: 'entered density', says: 'density of the mix', kind: 'systematic' });
    const f = q(flowQuantity([], bucketModel([{ grams: 520, seconds: 60, pulses: null, t_C: 20 }], { ...means, density_kg_m3: rho }), 't'));
    expect(f.value).toBeCloseTo(0.5 * (1 + 1.2 / 1040 - 1.2 / 8000), 4);
    expect(partU(f, 'density')).toBeCloseTo(f.value * (5 / 1040), 6);
  });
});

describe('a pulse meter', () => {
  const truth = (f_Hz: number): number => 0.04 + 0.06 * f_Hz;
  const rates = [3, 6, 9, 12];
  const model = pulseModel(rates.map((f) => run(truth(f), 60, f)), means);

  it('finds its line, and no curve without evidence', () => {
    expect(model.coefficients).toHaveLength(2);
    expect(model.coefficients[0]).toBeCloseTo(0.04, 4);
    expect(model.coefficients[1]).toBeCloseTo(0.06, 5);
    expect(model.f_range_Hz).toEqual([3, 12]);
    expect(q(flowQuantity([flowing(8)], model, 't')).value).toBeCloseTo(truth(8), 4);
    const bent = pulseModel([2, 4, 6, 8, 10, 12].map((f) => run(0.04 + 0.06 * f + 0.003 * f * f, 60, f)), means);
    expect(bent.coefficients).toHaveLength(3);
    expect(bent.coefficients[2]).toBeCloseTo(0.003, 5);
  });

  it('takes a factor where all runs are at one rate', () => {
    const one = pulseModel([run(0.5, 60, 8), run(0.502, 60, 8.02)], means);
    expect(one.coefficients[0]).toBe(0);
    expect(one.coefficients[1]).toBeCloseTo(0.0625, 3);
    expect(flowQuantity([flowing(4)], one, 't').state).toBe('below');
  });

  it('gives no flow where it shows none, and no 0', () => {
    const none = (r: FlowReading): unknown => flowQuantity([flowing(8), r], model, 't');
    expect(none({ state: 'stopped', pulse_rate_Hz: 0, pulse_age_s: 9 })).toMatchObject({ state: 'stopped', quantity: null, reason: expect.stringContaining('no proof of no flow') as unknown });
    expect(none({ state: 'slowing', pulse_rate_Hz: 0.5, pulse_age_s: 2 })).toMatchObject({ state: 'slowing', quantity: null });
    expect(none({ state: 'not_measured', pulse_rate_Hz: null, pulse_age_s: null })).toMatchObject({ state: 'not_measured', quantity: null });
    expect(none({ state: 'untimed', pulse_rate_Hz: null, pulse_age_s: 1 })).toMatchObject({ state: 'untimed', quantity: null });
    expect(flowQuantity([], model, 't')).toMatchObject({ state: 'none', quantity: null });
    expect(flowQuantity([flowing(2)], model, 't')).toMatchObject({ state: 'below', quantity: null });
    expect(flowQuantity([flowing(20)], model, 't')).toMatchObject({ state: 'beyond', reason: expect.stringContaining('up to 12') as unknown });
    expect(() => pulseModel([{ grams: 500, seconds: 60, pulses: 0, t_C: 20 }], means)).toThrow('without pulses');
    expect(() => pulseModel([], means)).toThrow('no bucket');
  });

  it.each([3, 4, 6])('errs by as much as it says over %d hand-timed runs', (n) => {
    const normal = normalOf(seeded(n));
    const random = seeded(100 + n);
    const z: number[] = [];
    let held = 0;
    const studies = 500;
    for (let i = 0; i < studies; i++) {
      const scale = 1 + 0.001 * normal();
      const runs = Array.from({ length: n }, (_, k): BucketRun => {
        const f = 3 + (9 * k) / (n - 1);
        return { grams: grams((truth(f) * 60) / 60) * scale + normal(), seconds: 60 + 0.2 * normal(), pulses: f * 60, t_C: 20 };
      });
      // The hand stops the watch: true flow ran 60 s, the watch says otherwise; pulses are counted over the true time.
      const f = 3 + 9 * random();
      const flow = q(flowQuantity([flowing(f)], pulseModel(runs.map((r) => ({ ...r, pulses: ((r.pulses ?? 0) * r.seconds) / 60 })), means), 't'));
      z.push((flow.value - truth(f)) / u(flow));
      if (Math.abs(flow.value - truth(f)) <= expanded(flow).U) held++;
    }
    const { mean, sd } = spread(z);
    expect(Math.abs(mean)).toBeLessThan(3.5 / Math.sqrt(studies));
    expect(sd).toBeGreaterThan(0.9);
    expect(sd).toBeLessThan(1.1);
    expect(held / studies).toBeGreaterThan(0.925);
    expect(held / studies).toBeLessThan(0.975);
  });
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { AnalogInputs } from '../../../firmware/twin/world/analog.js';
import { couple_C, tolerance_K } from '../../../firmware/twin/world/couple.js';
import { FlowMeter, pulses_per_L } from '../../../firmware/twin/world/flow-meter.js';
import type { Surroundings, Wires } from '../../../firmware/twin/world/plant.js';
import { randomStream } from '../../../firmware/twin/world/random.js';
import { thermistor_ohm } from '../../../firmware/twin/world/thermistor.js';
import type { ThermistorsRig } from '../../../firmware/twin/world/thermistor.js';
import { converterWord } from '../../../firmware/twin/world/thermocouple.js';
import type { ThermocoupleRig } from '../../../firmware/twin/world/thermocouple.js';

const sound: Wires = { thermocouple: 'sound', thermistors: { coolant_in: 'sound', coolant_out: 'sound', skin: 'sound' }, swapped: false };
const plain: ThermistorsRig = { fixed_ohm: 10_000, coolant_in_offset_K: 0, coolant_out_offset_K: 0, skin_offset_K: 0 };
const inBath = (t_C: number): Surroundings => ({ hot_C: 20, junction_C: 20, coolant_in_C: t_C, coolant_out_C: t_C, skin_C: t_C, flow_Lpmin: 0, spare_V: 2.5 });
const stepsAt = (t_C: number, rig: Partial<ThermistorsRig>, adc = {}, wires = sound): number[] => {
  const inputs = new AnalogInputs({ inl_LSB: 0, noise_LSB: 0, ...adc }, { ...plain, ...rig });
  inputs.stand(inBath(t_C), wires);
  return [...inputs.steps];
};
/** What the resistance of the thermistor at an input must be for that many steps. */
const ohmOf = (steps: number, fixed_ohm = 10_000): number => (fixed_ohm * steps) / (1024 - steps);

describe('thermistors', () => {
  it('a resistance that is off is off by the same share at every temperature', () => {
    for (const t_C of [5, 25, 70]) {
      const [inlet = NaN, outlet = NaN, skin = NaN] = stepsAt(t_C, { coolant_in_ohm_share: 0.01, skin_ohm_share: -0.02 });
      expect(ohmOf(inlet) / thermistor_ohm(t_C)).toBeCloseTo(1.01, 9);
      expect(ohmOf(outlet) / thermistor_ohm(t_C)).toBeCloseTo(1, 9);
      expect(ohmOf(skin) / thermistor_ohm(t_C)).toBeCloseTo(0.98, 9);
    }
  });

  it('a B that is off does nothing at 25 C, and turns the curve about it', () => {
    const share = (t_C: number): number => ohmOf(stepsAt(t_C, { coolant_out_b_share: 0.01 })[1] ?? NaN) / thermistor_ohm(t_C);
    expect(share(25)).toBeCloseTo(1, 12);
    expect(Math.log(share(5))).toBeCloseTo(39.5 * (1 / 278.15 - 1 / 298.15), 9);
    expect(Math.log(share(70))).toBeCloseTo(39.5 * (1 / 343.15 - 1 / 298.15), 9);
    expect(share(70)).toBeLessThan(1);
  });

  it('a fixed resistor that is off stays at its input when the plugs are swapped', () => {
    const rig = { coolant_in_fixed_share: 0.01 };
    expect(ohmOf(stepsAt(30, rig)[0] ?? NaN, 10_100) / thermistor_ohm(30)).toBeCloseTo(1, 9);
    expect(stepsAt(30, rig, {}, { ...sound, swapped: true })).toEqual(stepsAt(30, rig));
  });

  it('warms itself by its power over its dissipation', () => {
    const steps = stepsAt(25, { dissipation_mW_K: 2 })[0] ?? NaN;
    // 10 kOhm at half of 5 V: 0.625 mW, 0.31 K over 2 mW/K.
    const own_ohm = ohmOf(steps);
    const warm_K = (25 * own_ohm * 1000) / (own_ohm + 10_000) ** 2 / 2;
    expect(warm_K).toBeGreaterThan(0.3);
    expect(own_ohm).toBeCloseTo(thermistor_ohm(25 + warm_K), 0);
    expect(Math.abs(own_ohm / thermistor_ohm(25 + warm_K) - 1)).toBeLessThan(4e-5);
  });

  it('the analog converter has a gain and an offset of its own', () => {
    expect(stepsAt(25, {}, { gain_share: 0.002, offset_LSB: -1.5 })[3]).toBeCloseTo(512 * 1.002 - 1.5, 9);
  });
});

describe('thermocouple', () => {
  it('keeps within its class at any share, and smoothly so', () => {
    const shares = fc.double({ min: -1, max: 1, noNaN: true });
    fc.assert(
      fc.property(fc.constantFrom(1 as const, 2 as const), shares, shares, fc.double({ min: -40, max: 1200, noNaN: true }), (of, share, turn, t_C) => {
        const bend = turn * (1 - Math.abs(share));
        const off_K = (at_C: number): number => couple_C(at_C, { class: of, share, bend }) - at_C;
        expect(Math.abs(off_K(t_C))).toBeLessThanOrEqual(tolerance_K(t_C, of) + 1e-9);
        // Twice the standard's own slope of 0.75 % and a bend of pi: no corner, no jump.
        expect(Math.abs(off_K(t_C + 1) - off_K(t_C))).toBeLessThan(0.07);
        const turned_K = off_K(t_C + 1) - 2 * off_K(t_C) + off_K(t_C - 1);
        expect(Math.abs(turned_K)).toBeLessThan(1e-3);
      }),
      { seed: 5, numRuns: 500 },
    );
  });

  it('has no corner where the tolerance has one', () => {
    for (const [of, corner_C] of [[1, 375], [2, 1000 / 3]] as const) {
      const slope = (t_C: number): number => (couple_C(t_C + 0.01, { class: of, share: 1, bend: 0 }) - couple_C(t_C - 0.01, { class: of, share: 1, bend: 0 })) / 0.02;
      expect(Math.abs(slope(corner_C + 0.5) - slope(corner_C - 0.5))).toBeLessThan(1e-4);
    }
  });

  it('class 2 allows 2.5 K, from 333 C on 0.75 %; class 1 allows 1.5 K, from 375 C on 0.4 % (IEC 60584-1)', () => {
    expect([0, 300, 400, 1000].map((t) => tolerance_K(t, 2))).toEqual([2.5, 2.5, 3, 7.5]);
    expect([0, 300, 400, 1000].map((t) => tolerance_K(t, 1))).toEqual([1.5, 1.5, 1.6, 4]);
  });

  it('uses most of its class where the share is 1', () => {
    for (const t_C of [200, 400, 700]) expect((couple_C(t_C, { class: 2, share: 1, bend: 0 }) - t_C) / tolerance_K(t_C, 2)).toBeGreaterThan(0.6);
  });

  it('word: wires, gain and offset add up, and a couple as warm as its junction shows none of the wires', () => {
    const rig: ThermocoupleRig = { conversion_s: 0.1, noise_K: 0, junction_offset_K: 0 };
    const told = (hot_C: number, junction_C: number, over: Partial<ThermocoupleRig>): number => (converterWord(hot_C, junction_C, { ...rig, ...over }, randomStream(1, 'x')) >> 18) * 0.25;
    const couple = { class: 2, share: 1, bend: 0 } as const;
    expect(told(400, 25, { couple }) - told(400, 25, {})).toBeCloseTo(couple_C(400, couple) - 400 - (couple_C(25, couple) - 25), 0);
    expect(told(25, 25, { couple })).toBe(told(25, 25, {}));
    expect(told(400, 25, { gain_share: 0.004 }) - told(400, 25, {})).toBe(1.5);
    expect(told(25, 25, { offset_K: -1.25 }) - told(25, 25, {})).toBe(-1.25);
  });
});

describe('flow meter', () => {
  const curve = { share: 0.03, at_Lpmin: 0.5 };
  const rig = { pulses_per_L: 6000, offset_Hz: 0 };

  it('has a factor that goes with the flow: nothing at none, its share where it is said, less beyond', () => {
    const share = (flow: number): number => pulses_per_L(flow, { ...rig, curve }) / 6000 - 1;
    expect([share(0), share(0.5)]).toEqual([0, expect.closeTo(0.03, 12)]);
    for (const flow of [0.1, 0.3, 0.8, 2]) {
      expect(share(flow)).toBeGreaterThan(0);
      expect(share(flow)).toBeLessThan(0.03);
    }
    let falls = 0;
    new FlowMeter({ ...rig, curve }).step(0, 60, 0.5, (_, level) => (falls += level === 0 ? 1 : 0));
    expect(Math.abs(falls - 3090)).toBeLessThanOrEqual(1);
  });

  it('jitters by what it is told, in order, gathers nothing, and does not ask for the steps', () => {
    const run = (dt_s: number): number[] => {
      const meter = new FlowMeter({ ...rig, jitter_share: 0.05 }, randomStream(4, 'flow.jitter'));
      const at: number[] = [];
      for (let i = 0; i < 60 / dt_s; i++) meter.step(i * dt_s, dt_s, 0.6, (t_s) => at.push(t_s));
      return at;
    };
    const fine = run(0.0005);
    const coarse = run(0.01);
    expect(fine.every((t, i) => i === 0 || t > (fine[i - 1] ?? 0))).toBe(true);
    expect(fine.length).toBe(coarse.length);
    const off = fine.map((t, i) => (t - (i + 1) / 120) * 60);
    expect(Math.sqrt(off.reduce((s, v) => s + v * v, 0) / off.length)).toBeCloseTo(0.05, 2);
    for (const [i, t] of fine.entries()) expect(Math.abs(t - (coarse[i] ?? NaN))).toBeLessThan(1e-6);
  });

  it('knows what has gone through it, standing or not', () => {
    const meter = new FlowMeter({ ...rig, offset_Hz: 1000 });
    for (let i = 0; i < 100; i++) meter.step(i / 10, 0.1, 0.3, () => expect.fail('it turned'));
    expect(meter.passed_L).toBeCloseTo(0.05, 12);
  });
});

import { describe, expect, it } from 'vitest';
import { LeanWorld } from '../../../firmware/twin/depth/lean-world.js';
import type { LeanSink } from '../../../firmware/twin/depth/lean-world.js';
import { builtIn, readScenario } from '../../../firmware/twin/scenario.js';
import { parseAct } from '../../../firmware/twin/world/acts.js';
import { Button } from '../../../firmware/twin/world/button.js';
import { FlowMeter } from '../../../firmware/twin/world/flow-meter.js';
import { HeatChain, WATER_J_LK } from '../../../firmware/twin/world/heat.js';
import { randomStream } from '../../../firmware/twin/world/random.js';
import { thermistor_ohm } from '../../../firmware/twin/world/thermistor.js';
import { converterWord, typeK_mV } from '../../../firmware/twin/world/thermocouple.js';

const teasel = readScenario(builtIn('teasel'));
const nothing = (): void => undefined;
const deaf: LeanSink = { edge: nothing, missed: nothing, conversion: nothing, stand: nothing, flowLine: nothing, contact: nothing, board: nothing, fault: nothing };

/** The bench in its long strides, which lean.test.ts holds to the small ones: half an hour of a cap that cools takes a second. */
class Bench extends LeanWorld {
  advance(to_s: number): void {
    while (this.t_s < to_s) this.leap();
  }
}

describe('heat', () => {
  it('warms up as on a bench: hot end 300 to 450 C, coolant some kelvins at 0.4 L/min, a skin that a thermistor stands', () => {
    const world = new Bench(teasel, 1, deaf);
    world.advance(600);
    const now = world.now();
    expect(now.flow_Lpmin).toBe(0.4);
    expect(now.hot_C).toBeGreaterThan(300);
    expect(now.hot_C).toBeLessThan(450);
    expect(now.coolant_out_C - now.coolant_in_C).toBeGreaterThan(2);
    expect(now.coolant_out_C - now.coolant_in_C).toBeLessThan(6);
    expect(now.skin_C).toBeGreaterThan(40);
    expect(now.skin_C).toBeLessThan(100);
    const cold = world.now().coolant_out_C;
    world.act(parseAct('heat 0'));
    world.advance(1800);
    expect(world.now().hot_C).toBeLessThan(40);
    expect(world.now().coolant_out_C).toBeLessThan(cold - 2);
  });

  it('ends where heat in is heat out, work and losses counted, and settles at the same', () => {
    const rig = teasel.heat;
    const input = { heat: 0.8, flow_Lpmin: 0.4, work_W: 5 };
    const slow = new HeatChain(rig);
    for (let i = 0; i < 400_000; i++) slow.step(input, 0.01);
    const water_W = (0.4 / 60) * WATER_J_LK * (slow.water_C - rig.coolant_in_C);
    const lost_W = rig.cap_room_W_K * (slow.cap_C - rig.room_C) + rig.jacket_room_W_K * (slow.jacket_C - rig.room_C);
    expect(water_W + lost_W + 5).toBeCloseTo(0.8 * rig.heater_W, 3);
    expect(water_W).toBeGreaterThan(60);
    const settled = new HeatChain(rig);
    settled.settle(input);
    for (const node of ['cap_C', 'wall_C', 'jacket_C', 'water_C', 'outlet_C', 'skin_C', 'junction_C'] as const) expect(settled[node]).toBeCloseTo(slow[node], 3);
  });

  it('is stable for lumps that weigh nothing', () => {
    const chain = new HeatChain({ ...teasel.heat, cap_J_K: 0.1, wall_J_K: 0.1, jacket_J_K: 0.1, jacket_water_L: 0.001, cap_wall_W_K: 1000, wall_jacket_W_K: 1000, jacket_water_W_K: 1000 });
    for (let i = 0; i < 10_000; i++) chain.step({ heat: 1, flow_Lpmin: 10, work_W: 0 }, 0.01);
    expect(chain.cap_C).toBeGreaterThan(17.5);
    expect(chain.cap_C).toBeLessThan(25);
  });

  it('without flow the jacket boils and stays at that, while the outlet\'s sensor falls behind', () => {
    const world = new Bench(teasel, 1, deaf);
    world.advance(200);
    const out_C = world.now().coolant_out_C;
    world.act(parseAct('flow 0'));
    world.advance(1400);
    expect(world.now().jacket_C).toBeGreaterThan(100);
    // Boiling water, and what carries the heat into it: some 100 W over 4 W/K.
    expect(world.now().jacket_C).toBeLessThan(130);
    expect(world.now().coolant_out_C - out_C).toBeLessThan(2);
    world.act(parseAct('flow programme'));
    world.advance(1410);
    expect(world.now().coolant_out_C).toBeGreaterThan(30);
    world.advance(2000);
    expect(world.now().coolant_out_C).toBeLessThan(25);
  });

  it('an air pocket heats the jacket and the skin until it is bled', () => {
    const world = new Bench({ ...teasel, faults: [{ kind: 'air_pocket', t_s: 300, share: 0.8 }] }, 1, deaf);
    world.advance(300);
    const before = world.now();
    world.advance(900);
    expect(world.now().air_share).toBe(0.8);
    expect(world.now().skin_C - before.skin_C).toBeGreaterThan(20);
    world.act(parseAct('bleed'));
    world.advance(1500);
    expect(world.now().air_share).toBe(0);
    expect(Math.abs(world.now().skin_C - before.skin_C)).toBeLessThan(4);
  });
});

describe('thermocouple', () => {
  // NIST ITS-90 Thermocouple Database (SRD 60), type K, as printed.
  it.each([[-200, -5.891], [-100, -3.554], [-1, -0.039], [0, 0], [25, 1], [100, 4.096], [200, 8.138], [300, 12.209], [400, 16.397], [500, 20.644], [800, 33.275], [1000, 41.276], [1372, 54.886]])(
    'gives %f C as %f mV',
    (t_C, mV) => {
      expect(Math.abs(typeK_mV(t_C) - mV)).toBeLessThanOrEqual(0.00051);
    },
  );

  const quiet = { conversion_s: 0.1, noise_K: 0, junction_offset_K: 0 };
  const word = (hot_C: number, junction_C: number): number => converterWord(hot_C, junction_C, quiet, randomStream(1, 'x'));

  it.each([
    [100, 0, 99.23], [300, 0, 295.79], [500, 0, 500.15], [1200, 0, 1183.21], [200, 25, 197.93], [400, 25, 398.03], [800, 25, 806.93],
  ])('reads %f C from a junction at %f C as %f C', (hot_C, junction_C, told_C) => {
    expect(Math.abs((word(hot_C, junction_C) >> 18) * 0.25 - told_C)).toBeLessThanOrEqual(0.126);
    expect(((word(hot_C, junction_C) << 16) >> 20) * 0.0625).toBe(junction_C);
    expect(word(hot_C, junction_C) & 0x3000f).toBe(0);
  });

  it('codes both sides of nought as the sheet does', () => {
    expect(word(0, 0)).toBe(0);
    // -1 C: 111111111111 00 and 111111110000.
    expect(word(-1, -1).toString(2).padStart(32, '0')).toBe('11111111111100' + '00' + '111111110000' + '0000');
    // The junction at 100.5625 and -55 C.
    expect((word(100.5625, 100.5625) >>> 4) & 0xfff).toBe(0b011001001001);
    expect((word(-55, -55) >>> 4) & 0xfff).toBe(0b110010010000);
  });
});

describe('thermistor', () => {
  // The publisher's table of the part "10 kOhm, B 3950", rows that are not among those used.
  it.each([[-15, 66920], [5, 24940], [17, 14260], [25, 10000], [33, 7106], [43, 4723], [57, 2759], [68, 1860], [85, 1059], [105, 586], [125, 334]])('has at %f C %f ohm, within 0.1 K', (t_C, ohm) => {
    const K = Math.log(thermistor_ohm(t_C) / ohm) / Math.log(thermistor_ohm(t_C + 1) / thermistor_ohm(t_C));
    expect(Math.abs(K)).toBeLessThan(0.1);
  });

  it('falls all the way', () => {
    for (let t = -60; t < 200; t++) expect(thermistor_ohm(t + 1)).toBeLessThan(thermistor_ohm(t));
  });
});

describe('flow meter', () => {
  it('makes pulses per litre less its offset, and none below it', () => {
    const pulses = (flow_Lpmin: number): number => {
      const meter = new FlowMeter({ pulses_per_L: 6000, offset_Hz: 2 });
      let n = 0;
      let last_s = -1;
      for (let i = 0; i < 20_000; i++)
        meter.step(i * 0.0005, 0.0005, flow_Lpmin, (t_s, level) => {
          expect(t_s).toBeGreaterThan(last_s);
          last_s = t_s;
          n += level === 0 ? 1 : 0;
        });
      return n;
    };
    expect(pulses(0.5)).toBe(480);
    expect(pulses(0.02)).toBe(0);
    expect(pulses(10)).toBe(9980);
  });
});

describe('button', () => {
  it('bounces for some milliseconds either way, is held for a tenth of a second and ends open', () => {
    const button = new Button(randomStream(1, 'x'));
    for (const press_s of [1, 2, 3, 4]) {
      const told: { t_s: number; level: 0 | 1; first: boolean }[] = [];
      const hear = (t_s: number, level: 0 | 1, first: boolean): void => void told.push({ t_s, level, first });
      button.press(press_s, hear);
      // With a finger on it there is nothing to press.
      button.press(press_s + 0.05, hear);
      expect(told[0]).toEqual({ t_s: press_s, level: 0, first: true });
      expect(told.filter((c) => c.first)).toHaveLength(1);
      for (const [i, c] of told.entries()) {
        expect(c.level).toBe(i % 2);
        expect(c.t_s).toBeGreaterThan(told[i - 1]?.t_s ?? 0);
      }
      const down = told.filter((c) => c.t_s < press_s + 0.06);
      const up = told.filter((c) => c.t_s >= press_s + 0.06);
      expect(down.length).toBeGreaterThanOrEqual(5);
      expect((down.at(-1)?.t_s ?? NaN) - press_s).toBeLessThan(0.01);
      expect((up[0]?.t_s ?? NaN) - press_s).toBeCloseTo(0.12, 9);
      expect((up.at(-1)?.t_s ?? NaN) - press_s).toBeLessThan(0.13);
      expect(told.at(-1)?.level).toBe(1);
    }
  });
});

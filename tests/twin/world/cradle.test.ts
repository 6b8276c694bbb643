import { describe, expect, it } from 'vitest';
import { WEIGHT_LIMITS_mg } from '../../../host/sense/physics/masses.js';
import { LeanWorld } from '../../../firmware/twin/depth/lean-world.js';
import { builtIn, checkScenario, readScenario } from '../../../firmware/twin/scenario.js';
import type { Scenario } from '../../../firmware/twin/scenario.js';
import { parseAct } from '../../../firmware/twin/world/acts.js';
import { Cradle } from '../../../firmware/twin/world/cradle.js';
import { limit_mg, Masses } from '../../../firmware/twin/world/hung.js';
import type { MassesRig } from '../../../firmware/twin/world/hung.js';
import { randomStream } from '../../../firmware/twin/world/random.js';
import { water_g_L } from '../../../firmware/twin/world/tools.js';
import { World } from '../../../firmware/twin/world/world.js';

const arm = { length_m: 0.06, ring_Hz: 25, damping: 0.2 };
const G = 9.812;

describe('cradle', () => {
  it('a mass on the cell\'s line is felt as its weight, one at a radius by the levers', () => {
    const cradle = new Cradle({ ...arm, off_square_deg: 8, off_level_deg: 5, hang_radius_error_m: 0.0005 });
    const lever_m = 0.06 * Math.cos((8 * Math.PI) / 180);
    cradle.hang(2);
    expect(cradle.feel_N(0, false)).toBeCloseTo(2 * (0.0605 / 0.06), 12);
    cradle.hang(2, 0.05);
    expect(cradle.feel_N(0, false)).toBeCloseTo((2 * 0.0505 * Math.cos((5 * Math.PI) / 180)) / lever_m, 12);
    cradle.hang(0);
    // 8 degrees off square: the force is 1 % more than torque over arm.
    expect(cradle.feel_N(0.03, true) / (0.03 / 0.06)).toBeCloseTo(1.0098, 4);
  });

  it('holds back what is smaller than its band, each way, and is late by it beyond', () => {
    const cradle = new Cradle({ ...arm, stiction: { band_Nm: 0.0006, turning_share: 0.1 } });
    const at = (mNm: number, turning = false): number => cradle.feel_N(mNm / 1000, turning) * 60;
    expect([0.3, 0.5, 0.6].map((m) => at(m))).toEqual([0, 0, expect.closeTo(0, 9)]);
    expect([10, 30].map((m) => at(m))).toEqual([expect.closeTo(9.4, 9), expect.closeTo(29.4, 9)]);
    expect([29.5, 28.8, 10].map((m) => at(m))).toEqual([expect.closeTo(29.4, 9), expect.closeTo(29.4, 9), expect.closeTo(10.6, 9)]);
    // A tap frees it; a turning shaft leaves a tenth.
    cradle.tap();
    expect(at(10)).toBeCloseTo(10, 9);
    expect(at(20)).toBeCloseTo(19.4, 9);
    expect(at(20, true)).toBeCloseTo(19.94, 9);
    expect(at(10, true)).toBeCloseTo(10.06, 9);
  });
});

describe('masses', () => {
  const rig: MassesRig = { density_kg_m3: 8000, air_kg_m3: 1.2, pieces: [] };
  const hang = (over: Partial<MassesRig>, seed: number, ...pieces_g: number[]) => new Masses({ ...rig, ...over }, G, (name) => randomStream(seed, name)).hang(pieces_g);
  const AIR = 1 - 1.2 / 8000;

  it('without a set are what they say, and no air bears them', () => {
    expect(new Masses(undefined, G, (name) => randomStream(1, name)).hang([100])).toEqual({ mass_kg: 0.1, weight_N: 0.1 * G });
  });

  it('err within the limit of their class, evenly, each its own', () => {
    const errors = Array.from({ length: 400 }, (_, seed) => (hang({ class: 'M2' }, seed, 100).mass_kg - 0.1) * 1e6);
    // OIML R 111-1: 16 mg for 100 g of M2; an even spread has 1/sqrt(3) of it.
    for (const e of errors) expect(Math.abs(e)).toBeLessThanOrEqual(16);
    // Three standard errors of the mean.
    expect(Math.abs(errors.reduce((s, e) => s + e, 0) / 400)).toBeLessThan((3 * 16) / Math.sqrt(3 * 400));
    expect(Math.sqrt(errors.reduce((s, e) => s + e * e, 0) / 400) / (16 / Math.sqrt(3))).toBeCloseTo(1, 1);
    const one = hang({ class: 'M2' }, 7, 100).mass_kg;
    expect(hang({ class: 'M2' }, 7, 100, 50).mass_kg).toBeCloseTo(one + hang({ class: 'M2' }, 7, 50).mass_kg, 12);
    expect(hang({ class: 'M2' }, 7, 100, 100).mass_kg).not.toBeCloseTo(2 * one, 9);
  });

  it('know their classes\' limits, and those of masses between', () => {
    for (const [g, , , , m1] of WEIGHT_LIMITS_mg) expect(limit_mg(g, 'M1')).toBe(m1);
    expect(limit_mg(150, 'M1')).toBe(7.5);
    expect(limit_mg(9000, 'M1')).toBe(250);
  });

  it('err as told, by piece and in order', () => {
    const pieces = [{ nominal_g: 200, error_mg: 12 }, { nominal_g: 200, error_mg: -30 }];
    expect(hang({ pieces }, 1, 200, 200, 50).weight_N).toBeCloseTo((0.45 - 18e-6) * G * AIR, 12);
  });

  it('of another material float otherwise, unless the air is that of the convention', () => {
    expect(hang({ density_kg_m3: 2700 }, 1, 100).weight_N).toBeCloseTo(0.1 * G * AIR, 12);
    const thin = hang({ density_kg_m3: 2700, air_kg_m3: 0.9 }, 1, 100).weight_N / (0.1 * G * AIR);
    expect(thin - 1).toBeCloseTo(0.3 / 2700, 7);
  });
});

describe('hands on the bench', () => {
  const teasel = readScenario(builtIn('teasel'));
  /** Engine at rest. */
  const cold = { ...teasel, engine: { ...teasel.engine, hot_start: 0 }, programme: { ...teasel.programme, heat: { between: 'step', points: [{ t_s: 0, value: 0 }] } } } satisfies Scenario;
  const rig = (over: Partial<Scenario['rig']>): Scenario => ({ ...cold, rig: { ...cold.rig, ...over } });
  const nobody = { ...Object.fromEntries(['edge', 'missed', 'conversion', 'surroundings', 'stand', 'flowLine', 'contact', 'board', 'fault'].map((n) => [n, () => undefined])) };
  const worlds = (s: Scenario): { act: (text: string) => void; to: (t_s: number) => void; world: World | LeanWorld }[] => {
    const small = new World(s, 5, nobody as never);
    const lean = new LeanWorld(s, 5, nobody as never);
    return [
      { world: small, act: (a) => small.act(parseAct(a)), to: (t_s) => small.advance(t_s) },
      {
        world: lean,
        act: (a) => lean.act(parseAct(a)),
        to: (t_s) => {
          while (lean.t_s < t_s - 1e-9) lean.leap();
        },
      },
    ];
  };

  it('a tap frees the arm of a bench at rest, in either stride', () => {
    const stiction = { band_Nm: 0.0006, turning_share: 0.1 };
    for (const { act, to, world } of worlds(rig({ arm: { ...cold.rig.arm, stiction } }))) {
      act('hang 100 g');
      to(3);
      expect(world.now().force_N).toBeCloseTo(0.1 * G - 0.01, 6);
      act('tap');
      to(6);
      expect(world.now().force_N).toBeCloseTo(0.1 * G, 6);
      act('hang 100 g + 0.5 g');
      to(9);
      expect(world.now().force_N).toBeCloseTo(0.1 * G, 6);
    }
  });

  it('a real mass hangs at a radius, in either stride', () => {
    const s: Scenario = { ...cold, masses: { density_kg_m3: 8000, air_kg_m3: 1.2, pieces: [{ nominal_g: 50, error_mg: 40 }] } };
    for (const { act, to, world } of worlds(s)) {
      act('hang 100 g + 50 g at 30 mm');
      to(3);
      expect(world.now().hung_kg).toBeCloseTo(0.15004, 12);
      expect(world.now().force_N).toBeCloseTo((0.15004 * G * (1 - 1.2 / 8000)) / 2, 8);
      act('hang 0');
      to(6);
      expect(world.now().force_N).toBeCloseTo(0, 8);
    }
  });

  it('a bath is all that the three thermistors feel, to its thermometer\'s error, until it is off', () => {
    for (const { act, to, world } of worlds({ ...cold, tools: { ...cold.tools, thermometer_error_K: 0.3 } })) {
      const before = world.now();
      act('bath 40 C');
      to(1);
      const { coolant_in_C, coolant_out_C, skin_C, hot_C } = world.now();
      expect([coolant_in_C, coolant_out_C, skin_C]).toEqual([39.7, 39.7, 39.7]);
      expect(hot_C).toBeCloseTo(before.hot_C, 1);
      act('bath off');
      to(2);
      expect(world.now().coolant_in_C).toBe(before.coolant_in_C);
      expect(world.now().skin_C).toBeCloseTo(before.skin_C, 1);
    }
  });

  it('a bucket catches what flows while it stands there, by scale and watch', () => {
    const tools = { ...cold.tools, scale_resolution_g: 2, scale_share: 0.01, watch_error_s: 0.5 };
    for (const { act, to, world } of worlds({ ...cold, tools })) {
      to(1);
      act('flow 0.5 L/min');
      to(2);
      act('catch 30 s');
      to(10);
      expect(world.now().caught_g).toBeNull();
      act('flow 0');
      to(20);
      act('flow 0.5 L/min');
      to(40);
      // 20.5 s at 8.333 mL/s and 998.7 g/L, shown 1 % high: 172.3, in steps of 2 g.
      expect(world.now().caught_g).toBe(172);
    }
  });

  it('a watch spreads as it is told, new for each bucket', () => {
    const [{ act, to, world } = expect.fail()] = worlds({ ...cold, tools: { ...cold.tools, scale_resolution_g: 0.001, watch_spread_s: 0.3 } }).slice(1);
    const off_s: number[] = [];
    for (let i = 0; i < 200; i++) {
      act('catch 5 s');
      to(world.t_s + 10);
      off_s.push((world.now().caught_g ?? NaN) / ((0.4 / 60) * water_g_L(17.5)) - 5);
    }
    expect(Math.sqrt(off_s.reduce((s, v) => s + v * v, 0) / off_s.length) / 0.3).toBeCloseTo(1, 0);
    expect(new Set(off_s.map((v) => v.toFixed(4))).size).toBeGreaterThan(190);
  });

  it('water weighs what it does', () => {
    // Kilogram a cubic metre at 101.325 kPa (IAPWS-95 tables, from memory): 4 C 999.97, 20 C 998.21, 40 C 992.2.
    for (const [t_C, g_L] of [[4, 999.97], [20, 998.21], [40, 992.22]] as const) expect(water_g_L(t_C)).toBeCloseTo(g_L, 1);
  });

  it('a scenario may give it all, within limits, and leaves out what it does not', () => {
    const given: unknown = JSON.parse(JSON.stringify({ ...teasel, rig: { ...teasel.rig, arm: { ...teasel.rig.arm, stiction: { band_Nm: 0.0005 } } }, masses: { class: 'M1' } }));
    const full = checkScenario(given, 'x');
    expect(full.rig.arm.stiction).toEqual({ band_Nm: 0.0005, turning_share: 0.1 });
    expect(full.masses).toEqual({ class: 'M1', density_kg_m3: 8000, air_kg_m3: 1.2, pieces: [] });
    expect([teasel.masses, teasel.rig.arm.stiction, teasel.rig.cell.creep]).toEqual([undefined, undefined, undefined]);
    const couple = { class: 2, share: 0.7, bend: -0.4 };
    const wrong = { ...teasel, rig: { ...teasel.rig, thermocouple: { ...teasel.rig.thermocouple, couple } } };
    expect(() => checkScenario(wrong, 'x')).toThrow(/rig\.thermocouple\.couple\.bend.*-0\.4.*at most 0\.3/);
  });
});

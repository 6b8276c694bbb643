import { describe, expect, it } from 'vitest';
import { LeanWorld } from '../../../firmware/twin/depth/lean-world.js';
import type { LeanSink } from '../../../firmware/twin/depth/lean-world.js';
import { builtIn, readScenario } from '../../../firmware/twin/scenario.js';
import type { Scenario } from '../../../firmware/twin/scenario.js';
import { parseAct } from '../../../firmware/twin/world/acts.js';
import { IdealTurn } from '../../../firmware/twin/world/cycle.js';
import type { CycleRig, GeometryRig } from '../../../firmware/twin/world/cycle.js';
import { rad_per_s, Shaft } from '../../../firmware/twin/world/engine.js';
import type { EngineRig, Retarder } from '../../../firmware/twin/world/engine.js';
import { seriesAt } from '../../../firmware/twin/world/series.js';

const nothing = (): void => undefined;
const deaf: LeanSink = { edge: nothing, missed: nothing, conversion: nothing, stand: nothing, flowLine: nothing, contact: nothing, board: nothing, fault: nothing };
const fade = readScenario(builtIn('fade'));
const model = fade.engine.model as CycleRig;
const { wander, ...sound } = { ...fade, faults: [] };

/** The same engine without wander or fault, on a brake held there. */
const held = (brake: number, over: Partial<Scenario> = {}): Scenario => ({ ...sound, programme: { ...fade.programme, brake: { between: 'step', points: [{ t_s: 0, value: brake }] } }, ...over });

function run(world: LeanWorld, to_s: number): void {
  while (world.t_s < to_s) world.leap();
}

/** Work of a turn by small steps: volumes, their pressure, and the sum of p dV. */
function bySteps_J(g: GeometryRig, hot_C: number, cold_C: number, mean_kPa: number): number {
  const n = 3600;
  const hot_K = hot_C + 273.15;
  const cold_K = cold_C + 273.15;
  const lag = (g.phase_deg * Math.PI) / 180;
  const hot: number[] = [];
  const cold: number[] = [];
  for (let i = 0; i <= n; i++) {
    const x = (2 * Math.PI * i) / n;
    const piston = (g.cold_swept_cm3 / 2) * (1 + Math.cos(x - lag));
    hot.push((g.hot_swept_cm3 / 2) * (1 + Math.cos(x)));
    cold.push(g.kind === 'alpha' ? piston : (g.hot_swept_cm3 / 2) * (1 - Math.cos(x)) + piston);
  }
  // In one cylinder the displacer comes as near to the piston as touching it.
  const nearest = g.kind === 'beta' ? Math.min(...cold) : 0;
  const mid_K = (hot_K - cold_K) / Math.log(hot_K / cold_K);
  const sums = hot.map((h, i) => (h + g.hot_dead_cm3) / hot_K + ((cold[i] ?? 0) - nearest + g.cold_dead_cm3) / cold_K + g.regenerator_cm3 / mid_K);
  const mean = sums.slice(0, n).reduce((a, s) => a + 1 / s, 0) / n;
  let work = 0;
  for (let i = 0; i < n; i++) {
    const p = ((1 / (sums[i] ?? 1) + 1 / (sums[i + 1] ?? 1)) / 2 / mean) * mean_kPa;
    work += p * ((hot[i + 1] ?? 0) + (cold[i + 1] ?? 0) - (hot[i] ?? 0) - (cold[i] ?? 0));
  }
  return work * 1e-3;
}

describe('the ideal turn', () => {
  it.each(['alpha', 'beta', 'gamma'] as const)('%s gives the work that small steps of p dV sum up to', (kind) => {
    for (const phase_deg of [60, 90, 115]) {
      const g = { ...model.geometry, kind, phase_deg };
      const exact = bySteps_J(g, 420, 35, 98);
      expect(exact).toBeGreaterThan(0.1);
      expect(new IdealTurn(g).work_J(420, 35, 98) / exact).toBeCloseTo(1, 5);
    }
  });

  it('gives nothing without a difference of temperature, and takes work the other way round', () => {
    const turn = new IdealTurn(model.geometry);
    expect(turn.work_J(50, 50, 101.325)).toBeCloseTo(0, 12);
    expect(turn.work_J(20, 120, 101.325)).toBeLessThan(0);
  });
});

describe('torque of the cycle', () => {
  const free: Retarder = { torque_Nm: () => 0 };
  const drive = (leak_rpm: number, rpm: number): number => {
    const rig: EngineRig = { ...fade.engine, model: { ...model, leak_rpm }, cyclic_share: 0, start_rpm: rpm };
    const shaft = new Shaft(rig, 1e-6);
    shaft.cycle?.feel(400, 45);
    shaft.step(1, free);
    return shaft.drive_Nm;
  };

  it('falls to 1/e over fall_rpm, and to half by the leak at leak_rpm, less above', () => {
    const still = drive(0, 1e-3);
    expect(still).toBeCloseTo((model.share * new IdealTurn(model.geometry).work_J(400, 45, 101.325)) / (2 * Math.PI), 6);
    expect(drive(0, 900) / still).toBeCloseTo(Math.exp(-1), 4);
    expect(drive(120, 120) / drive(0, 120)).toBeCloseTo(0.5, 4);
    expect(drive(120, 600) / drive(0, 600)).toBeCloseTo(25 / 26, 4);
  });
});

describe('heat and work', () => {
  it.each([0.3, 1])('balance in steady state with the brake at %f: source = coolant + room + indicated, and indicated = brake + friction', (brake) => {
    const world = new LeanWorld(held(brake), 3, deaf);
    run(world, 1500);
    const from = world.now();
    const { shaft } = world.parts;
    let [carried_J, lost_J, braked_J, rubbed_J] = [0, 0, 0, 0];
    const turned_rad = shaft.angle_rad;
    const energy_J = (0.0021 * shaft.speed_rad_s ** 2) / 2;
    while (world.t_s < 1700) {
      const t_s = world.t_s;
      world.leap();
      const span_s = world.t_s - t_s;
      const { carried_W, lost_W, power_W } = world.now();
      carried_J += carried_W * span_s;
      lost_J += lost_W * span_s;
      braked_J += power_W * span_s;
      const w = shaft.speed_rad_s;
      rubbed_J += w * (0.0035 + w * (3e-5 + w * 1.5e-7)) * span_s;
    }
    const to = world.now();
    const work_J = to.indicated_J - from.indicated_J;
    const gave_J = to.heated_J - from.heated_J;
    expect(gave_J / (150 * (to.t_s - from.t_s))).toBeCloseTo(1, 4);
    // Half a percent of the least term.
    expect(Math.abs(gave_J - carried_J - lost_J - work_J)).toBeLessThan(0.005 * work_J + 1e-4 * gave_J);
    const kept_J = (0.0021 * shaft.speed_rad_s ** 2) / 2 - energy_J;
    expect(Math.abs(work_J - braked_J - rubbed_J - kept_J)).toBeLessThan(0.005 * work_J);
    expect(shaft.angle_rad - turned_rad).toBeGreaterThan(3000);
    // The engine draws what an ideal one would for this work, and more.
    const carnot = 1 - (to.jacket_C + 273.15) / (to.hot_C + 273.15);
    const share = work_J / (to.drawn_J - from.drawn_J);
    expect(share).toBeLessThan(carnot);
    expect(share).toBeGreaterThan(0.1 * carnot);
  });

  it('hang together: more power takes more heat from the hot end, and less heat gives less power', () => {
    const at = (brake: number, heat: number, speed?: number) => {
      const scenario = held(brake);
      const world = new LeanWorld({ ...scenario, engine: { ...scenario.engine, start_rpm: speed ?? 500 }, programme: { ...scenario.programme, heat: { between: 'step', points: [{ t_s: 0, value: heat }] } } }, 3, deaf);
      run(world, 1500);
      const from = world.now();
      run(world, 1800);
      const to = world.now();
      return { hot_C: to.hot_C, drawn_W: (to.drawn_J - from.drawn_J) / 300, indicated_W: (to.indicated_J - from.indicated_J) / 300, speed_rpm: to.speed_rpm, carried_W: to.carried_W };
    };
    const running = at(0.45, 1);
    const standing = at(0.45, 1, 0);
    const cooler = at(0.45, 0.9);
    expect(standing.drawn_W).toBe(0);
    expect(running.hot_C).toBeLessThan(standing.hot_C - 15);
    expect(running.carried_W).toBeGreaterThan(standing.carried_W + 2);
    expect(cooler.hot_C).toBeLessThan(running.hot_C - 25);
    expect(cooler.indicated_W).toBeLessThan(0.95 * running.indicated_W);
    expect(cooler.speed_rpm).toBeLessThan(running.speed_rpm - 10);
  });
});

describe('a displacer moved by hand', () => {
  const { engine } = fade;
  const bench = (over: Partial<CycleRig>): Scenario => held(0, { engine: { ...engine, start_rpm: 0, model: { ...model, kind: 'no_shaft', share: 1, ...over } }, rig: { ...fade.rig, pressure: { zero_V: 2.5, V_per_kPa: 0.03 } } });

  const swing = (over: Partial<CycleRig>): { readonly least_V: number; readonly most_V: number; readonly hot_C: number; readonly jacket_C: number; readonly speed_rpm: number; readonly turns: number } => {
    const world = new LeanWorld(bench(over), 3, deaf);
    run(world, 300);
    expect(world.now().spare_V).toBeCloseTo(2.5, 2);
    world.act(parseAct('move displacer 10 times in 10 s'));
    let [least_V, most_V, turns, before_V, rises] = [5, 0, 0, world.now().spare_V, false];
    while (world.t_s < 310) {
      world.leap();
      const { spare_V } = world.now();
      least_V = Math.min(least_V, spare_V);
      most_V = Math.max(most_V, spare_V);
      if (!rises && spare_V > before_V) turns++;
      rises = spare_V > before_V;
      before_V = spare_V;
    }
    const { hot_C, jacket_C, speed_rpm } = world.now();
    return { least_V, most_V, hot_C, jacket_C, speed_rpm, turns };
  };

  it('swings the pressure as the ideal gas law says where nothing leaks, once a stroke, and no shaft turns', () => {
    const { least_V, most_V, hot_C, jacket_C, speed_rpm, turns } = swing({ leak_rpm: 0 });
    expect(speed_rpm).toBe(0);
    expect(turns).toBe(10);
    const [h, c] = [hot_C + 273.15, jacket_C + 273.15];
    const still = 6 / ((h - c) / Math.log(h / c));
    const cold = 8 / h + (12 + 60 + 8) / c + still;
    const hot = (8 + 60) / h + (12 + 8) / c + still;
    // Since it was shut the cap has warmed by little, for it was hot.
    expect((most_V - least_V) / 0.03 / (101.325 * (cold / hot - 1))).toBeCloseTo(1, 1.6);
  });

  it('swings less where it leaks, about the room\'s pressure, and by its share', () => {
    const tight = swing({ leak_rpm: 0 });
    const leaky = swing({ leak_rpm: 60 });
    const swing_V = (s: typeof tight): number => s.most_V - s.least_V;
    // A leak as fast as the hand leaves about 1 / sqrt 2 of the swing, and lowers its mean to the room's pressure.
    expect(swing_V(leaky) / swing_V(tight)).toBeGreaterThan(0.5);
    expect(swing_V(leaky) / swing_V(tight)).toBeLessThan(0.7);
    expect(leaky.least_V).toBeLessThan(2.2);
    expect(swing_V(swing({ leak_rpm: 60, share: 0.5 })) / swing_V(leaky)).toBeCloseTo(0.5, 6);
  });
});

describe('a bench day and a fade', () => {
  it('ship, and wander: the sweep of the day holds each setting two minutes, twelve to a build', () => {
    const day = readScenario(builtIn('bench-day'));
    expect(wander?.power.white_share).toBe(0.003);
    const settings = (from_s: number): number[] => Array.from({ length: 12 }, (_, i) => seriesAt(day.programme.brake, from_s + 120 * i + 60));
    expect(settings(2100)).toEqual([0.15, 0.3, 0.45, 0.6, 0.8, 1, 1, 0.8, 0.6, 0.45, 0.3, 0.15]);
    expect(settings(4500)).toEqual(settings(2100));
    const world = new LeanWorld(day, 1, deaf);
    run(world, 1700);
    expect(world.now().speed_rpm).toBe(0);
    run(world, 3000);
    expect(world.now().speed_rpm).toBeGreaterThan(rad_per_s(300));
    expect(world.now().assembly).toMatchObject({ build: 'A', number: 0 });
    run(world, 4190);
    expect(world.now().speed_rpm).toBe(0);
    expect(world.now().assembly).toMatchObject({ build: 'B', number: 1 });
    run(world, 5400);
    expect(world.now().speed_rpm).toBeGreaterThan(200);
  });
});

import { describe, expect, it } from 'vitest';
import { SmallbrakeError } from '../../../host/errors.js';
import { LeanWorld } from '../../../firmware/twin/depth/lean-world.js';
import type { LeanSink } from '../../../firmware/twin/depth/lean-world.js';
import { builtIn, checkScenario, readScenario } from '../../../firmware/twin/scenario.js';
import type { Scenario } from '../../../firmware/twin/scenario.js';
import { parseAct } from '../../../firmware/twin/world/acts.js';
import type { Act } from '../../../firmware/twin/world/acts.js';
import { assemble } from '../../../firmware/twin/world/builds.js';
import type { Assembly } from '../../../firmware/twin/world/builds.js';
import { randomStream } from '../../../firmware/twin/world/random.js';
import { Wander } from '../../../firmware/twin/world/wander.js';
import type { LastingFault } from '../../../firmware/twin/world/wear.js';

const nothing = (): void => undefined;
const deaf: LeanSink = { edge: nothing, missed: nothing, conversion: nothing, stand: nothing, flowLine: nothing, contact: nothing, board: nothing, fault: nothing };
const fade = readScenario(builtIn('fade'));
const { wander, ...still } = { ...fade, faults: [] };
const sound: Scenario = still;

interface Seen {
  readonly speed_rpm: number;
  readonly torque_Nm: number;
  readonly power_W: number;
  readonly hot_C: number;
  readonly difference_K: number;
  readonly carried_W: number;
  readonly skin_C: number;
  readonly inlet_C: number;
  readonly zero_counts: number;
}

/** Means over the half minute up to `to_s`; what the cell says is against what it bears. */
function seen(world: LeanWorld, to_s: number): Seen {
  while (world.t_s < to_s - 30) world.leap();
  const sums = { t_s: 0, turned: 0, torque_Nm: 0, power_W: 0, hot_C: 0, difference_K: 0, carried_W: 0, skin_C: 0, inlet_C: 0, zero_counts: 0 };
  const from_rad = world.parts.shaft.angle_rad;
  while (world.t_s < to_s) {
    const t_s = world.t_s;
    world.leap();
    const dt = world.t_s - t_s;
    const now = world.now();
    sums.t_s += dt;
    sums.torque_Nm += now.torque_Nm * dt;
    sums.power_W += now.power_W * dt;
    sums.hot_C += now.hot_C * dt;
    sums.difference_K += (now.coolant_out_C - now.coolant_in_C) * dt;
    sums.carried_W += now.carried_W * dt;
    sums.skin_C += now.skin_C * dt;
    sums.inlet_C += now.coolant_in_C * dt;
    sums.zero_counts += world.parts.cell.zero_off_counts * dt;
  }
  const of = (x: number): number => x / sums.t_s;
  return {
    speed_rpm: ((world.parts.shaft.angle_rad - from_rad) * 60) / (2 * Math.PI) / sums.t_s,
    ...{ torque_Nm: of(sums.torque_Nm), power_W: of(sums.power_W), hot_C: of(sums.hot_C), difference_K: of(sums.difference_K) },
    ...{ carried_W: of(sums.carried_W), skin_C: of(sums.skin_C), inlet_C: of(sums.inlet_C), zero_counts: of(sums.zero_counts) },
  };
}

const bench = (brake: number, faults: Scenario['faults']): LeanWorld =>
  new LeanWorld({ ...sound, faults, programme: { ...sound.programme, brake: { between: 'step', points: [{ t_s: 0, value: brake }] } } }, 4, deaf);

/** A sound engine at a brake, seen once for all its faults. */
const soundAt = new Map<number, Seen>();
function sound1100(brake: number): Seen {
  const was = soundAt.get(brake) ?? seen(bench(brake, []), 1100);
  soundAt.set(brake, was);
  return was;
}

/** What a fault at 600 s has made of a steady engine by 1100 s, as shares (kelvins for temperatures). */
function moved(fault: LastingFault, brake = 0.45) {
  const [was, is] = [sound1100(brake), seen(bench(brake, [{ ...fault, t_s: 600 }]), 1100)];
  const share = (of: keyof Seen): number => is[of] / was[of] - 1;
  return {
    ...{ n: share('speed_rpm'), T: share('torque_Nm'), P: share('power_W'), Q: share('carried_W') },
    ...{ hot_K: is.hot_C - was.hot_C, difference_K: is.difference_K - was.difference_K, skin_K: is.skin_C - was.skin_C, inlet_K: is.inlet_C - was.inlet_C },
    ...{ Q_by_P: is.carried_W / is.power_W / (was.carried_W / was.power_W) - 1, zero_counts: is.zero_counts },
  };
}
const lasting = { t_s: 0, ramp_s: 60 };

/** The trade's table of what moves: a tenth of a percent, or a tenth of a kelvin, is level. */
describe('at a fixed eddy brake', { timeout: 60_000 }, () => {
  it('air in the jacket: slower, less torque, hot end up or level, less heat in the coolant, the jacket hot', () => {
    const m = moved({ ...lasting, kind: 'air_growing', share: 0.85, jumpy_share: 0 });
    expect(m.n).toBeLessThan(-0.01);
    expect(m.T).toBeLessThan(-0.01);
    expect(m.hot_K).toBeGreaterThan(-0.1);
    expect(m.Q).toBeLessThan(-0.005);
    expect(m.skin_K).toBeGreaterThan(10);
  });

  it('less flow: slower, less torque, hot end up, coolant\'s difference up', () => {
    const m = moved({ ...lasting, kind: 'flow_reduced', share: 0.8 });
    expect(m.n).toBeLessThan(-0.005);
    expect(m.T).toBeLessThan(-0.005);
    expect(m.hot_K).toBeGreaterThan(1);
    expect(m.difference_K).toBeGreaterThan(2);
  });

  it('no flow: the difference rises first, then the sensor of the outlet falls in still water', () => {
    const world = bench(0.45, [{ kind: 'flow_reduced', t_s: 600, ramp_s: 20, share: 1 }]);
    const before = seen(world, 600);
    let most_K = 0;
    while (world.t_s < 700) {
      world.leap();
      most_K = Math.max(most_K, world.now().coolant_out_C - world.now().coolant_in_C);
    }
    const late = seen(world, 2400);
    expect(most_K).toBeGreaterThan(before.difference_K + 1.5);
    expect(late.difference_K).toBeLessThan(before.difference_K);
    expect(late.difference_K).toBeLessThan(most_K - 1.5);
    expect(late.speed_rpm).toBeLessThan(0.95 * before.speed_rpm);
    expect(late.torque_Nm).toBeLessThan(0.95 * before.torque_Nm);
    expect(late.hot_C).toBeGreaterThan(before.hot_C + 5);
    expect(late.skin_C).toBeGreaterThan(before.skin_C + 20);
  });

  it('leaking gas: less torque, worse at low speed, hot end up, more heat by power; free speed down', () => {
    const fault: LastingFault = { ...lasting, kind: 'gas_leak', leak_rpm: 100 };
    const fast = moved(fault, 0.3);
    const slow = moved(fault, 1);
    expect(fast.n).toBeLessThan(-0.01);
    expect(fast.T).toBeLessThan(-0.01);
    expect(slow.T).toBeLessThan(2 * fast.T);
    expect(fast.hot_K).toBeGreaterThan(0.2);
    expect(fast.Q_by_P).toBeGreaterThan(0.02);
    expect(moved(fault, 0).n).toBeLessThan(-0.001);
  });

  it('a displacer that rubs: slower, less torque, hot end up', () => {
    const m = moved({ ...lasting, kind: 'displacer_rub', friction_Nm: 0.002, angle_deg: 90 });
    expect(m.n).toBeLessThan(-0.02);
    expect(m.T).toBeLessThan(-0.02);
    expect(m.hot_K).toBeGreaterThan(0.2);
  });

  it('a displacer that lets heat past: less power, hot end down, more heat in the coolant', () => {
    const m = moved({ ...lasting, kind: 'displacer_leak', power_share: 0.05, heat_W_K: 0.03 });
    expect(m.P).toBeLessThan(-0.05);
    expect(m.n).toBeLessThan(-0.02);
    expect(m.hot_K).toBeLessThan(-5);
    expect(m.Q).toBeGreaterThan(0.005);
  });

  it('a regenerator too tight: free speed down most, torque at low speed nearly the same, hot end up', () => {
    const fault: LastingFault = { ...lasting, kind: 'regenerator_tight', windage_Nms2: 4e-7 };
    const free = moved(fault, 0);
    const low = moved(fault, 1);
    expect(free.n).toBeLessThan(-0.05);
    expect(free.hot_K).toBeGreaterThan(0.5);
    expect(low.n).toBeGreaterThan(0.5 * free.n);
    expect(low.n).toBeLessThan(-0.001);
  });

  it('a poor regenerator: slower, less torque, hot end down at the same heat, more heat in the coolant', () => {
    for (const brake of [0.3, 1]) {
      const m = moved({ ...lasting, kind: 'regenerator_poor', power_share: 0, heat_J_K: 0.006 }, brake);
      expect(m.n).toBeLessThan(-0.005);
      expect(m.T).toBeLessThan(-0.005);
      expect(m.hot_K).toBeLessThan(-3);
      expect(m.Q).toBeGreaterThan(0.003);
    }
  });

  it('a softening part: slower, less torque, hot end up; and it does not come back with the cold', () => {
    const m = moved({ ...lasting, kind: 'softening', power_share: 0.05, friction_share: 0.05, phase_deg: 8 });
    expect(m.n).toBeLessThan(-0.02);
    expect(m.T).toBeLessThan(-0.02);
    expect(m.hot_K).toBeGreaterThan(0.2);
  });

  it('a fading brake: FASTER, less torque, along the engine\'s own curve', () => {
    const m = moved({ ...lasting, kind: 'brake_fade', share: 0.3 });
    expect(m.n).toBeGreaterThan(0.05);
    expect(m.T).toBeLessThan(-0.05);
    expect(Math.abs(m.P)).toBeLessThan(Math.abs(m.T) / 4);
    // The brake set to seven tenths by hand leads to the same point.
    const by_hand = seen(bench(0.45 * 0.7, []), 1100);
    expect(by_hand.speed_rpm / sound1100(0.45).speed_rpm - 1).toBeCloseTo(m.n, 3);
  });

  it('a disc that heats up and cannot cool fades as well', () => {
    const world = new LeanWorld({ ...sound, brake: { ...sound.brake, disc_cooling_W_K: 0.004 } as Scenario['brake'] }, 4, deaf);
    const cool = seen(world, 300);
    const hot = seen(world, 2400);
    expect(hot.speed_rpm).toBeGreaterThan(1.02 * cool.speed_rpm);
    expect(hot.torque_Nm).toBeLessThan(0.98 * cool.torque_Nm);
  });

  it('a fading source: slower, less torque, hot end DOWN, less heat in the coolant', () => {
    const m = moved({ ...lasting, kind: 'heater_fade', share: 0.15 });
    expect(m.n).toBeLessThan(-0.02);
    expect(m.T).toBeLessThan(-0.02);
    expect(m.hot_K).toBeLessThan(-20);
    expect(m.Q).toBeLessThan(-0.05);
  });

  it('a reservoir that heats: slower, less torque, hot end up slightly, the same difference, the inlet climbing', () => {
    const m = moved({ ...lasting, kind: 'coolant_warming', rise_K: 15 });
    expect(m.n).toBeLessThan(-0.005);
    expect(m.T).toBeLessThan(-0.005);
    expect(m.hot_K).toBeGreaterThan(1);
    expect(m.inlet_K).toBeCloseTo(15, 6);
    expect(Math.abs(m.difference_K)).toBeLessThan(0.25);
  });

  it('a zero that moves off: nothing but what the cell says', () => {
    const m = moved({ ...lasting, kind: 'zero_drift', counts: 4000 });
    for (const none of [m.n, m.T, m.hot_K, m.Q]) expect(none).toBeCloseTo(0, 6);
    expect(m.zero_counts).toBeCloseTo(4000, 6);
  });
});

describe('how a fault comes and goes', () => {
  const to = (world: LeanWorld, t_s: number): LeanWorld => {
    while (world.t_s < t_s) world.leap();
    return world;
  };

  it('grows in a straight line from its onset, stays, and ends where it says', () => {
    const world = bench(0.45, [{ kind: 'heater_fade', t_s: 10, ramp_s: 20, for_s: 50, share: 0.4 }]);
    const at = (t_s: number): number => to(world, t_s).now().heater_share;
    expect(at(9)).toBe(1);
    expect(at(20.1)).toBeCloseTo(1 - 0.4 * 0.5, 2);
    expect(at(31)).toBeCloseTo(0.6, 12);
    expect(at(59)).toBeCloseTo(0.6, 12);
    expect(at(61)).toBe(1);
    const sudden = bench(0.45, [{ kind: 'heater_fade', t_s: 10, ramp_s: 0, share: 0.4 }]);
    expect(to(sudden, 10.1).now().heater_share).toBe(0.6);
  });

  it('grows only while its part is warm, and goes back with the cold if it recovers', () => {
    const softening = (recovers: boolean): LeanWorld => {
      const world = bench(0.45, [{ kind: 'softening', t_s: 10, ramp_s: 100, power_share: 0.2, friction_share: 0, phase_deg: 0, warmth: { above_C: 60, part_share: 0.12, recovers } }]);
      expect(to(world, 60).now().power_share).toBeCloseTo(0.9, 2);
      world.act(parseAct('heat 0'));
      return to(world, 600);
    };
    expect(softening(true).now().power_share).toBe(1);
    const stays = softening(false);
    const left = stays.now().power_share;
    expect(left).toBeLessThan(0.88);
    expect(to(stays, 900).now().power_share).toBe(left);
  });

  it('lets air jump about its share and out by bleeding; two at once add up', () => {
    const world = bench(0.45, [
      { kind: 'air_growing', t_s: 5, ramp_s: 0, share: 0.5, jumpy_share: 0.4 },
      { kind: 'softening', t_s: 5, ramp_s: 0, power_share: 0.1, friction_share: 0, phase_deg: 0 },
      { kind: 'displacer_leak', t_s: 5, ramp_s: 0, power_share: 0.1, heat_W_K: 0 },
    ]);
    const shares = new Set<number>();
    for (let t_s = 6; t_s < 60; t_s++) shares.add(to(world, t_s).now().air_share);
    expect(shares.size).toBeGreaterThan(6);
    expect(Math.min(...shares)).toBeGreaterThanOrEqual(0.3);
    expect(Math.max(...shares)).toBeLessThanOrEqual(0.7);
    expect(world.now().power_share).toBeCloseTo(0.81, 12);
    world.act(parseAct('bleed'));
    expect(to(world, 70).now().air_share).toBe(0);
  });
});

describe('wander', () => {
  it('has the spread and the memory that its rig says', () => {
    const n = 100_000;
    const draws = (rig: { readonly white_share: number; readonly slow_share: number; readonly slow_s: number }): number[] => {
      const w = new Wander({ power: rig, heater: { share: 0, slow_s: 1 }, inlet_K_per_h: 0.5, room_K_per_h: 0 }, (name) => randomStream(9, name));
      expect(w.inlet_K(7200)).toBe(1);
      return Array.from({ length: n }, () => (w.draw(), w.power - 1));
    };
    const like = (x: readonly number[], lag: number): number => x.slice(lag).reduce((s, v, i) => s + v * (x[i] ?? 0), 0) / (x.length - lag);
    const white = draws({ white_share: 0.003, slow_share: 0, slow_s: 300 });
    const means = Array.from({ length: n / 10 }, (_, i) => white.slice(10 * i, 10 * i + 10).reduce((a, b) => a + b) / 10);
    expect(Math.sqrt(like(means, 0)) / 0.003).toBeCloseTo(1, 1.3);
    const slow = draws({ white_share: 0, slow_share: 0.005, slow_s: 30 });
    expect(Math.sqrt(like(slow, 0)) / 0.005).toBeCloseTo(1, 1);
    expect(like(slow, 30) / like(slow, 0)).toBeCloseTo(Math.exp(-1), 1);
  });

  it('makes of a held brake what healthy running is: 0.3 % white and 0.5 % slow in 10 s means of power', { timeout: 120_000 }, () => {
    if (wander === undefined) throw new Error('fade has no wander');
    const calm = { ...wander, heater: { share: 0, slow_s: 120 }, inlet_K_per_h: 0, room_K_per_h: 0 };
    const world = new LeanWorld({ ...sound, wander: calm }, 6, deaf);
    while (world.t_s < 900) world.leap();
    const means: number[] = [];
    for (let end_s = 910; end_s <= 900 + 2.5 * 3600; end_s += 10) {
      let [work_J, spent_s] = [0, 0];
      while (world.t_s < end_s) {
        const t_s = world.t_s;
        world.leap();
        const { shaft } = world.parts;
        work_J += shaft.brake_Nm * shaft.speed_rad_s * (world.t_s - t_s);
        spent_s += world.t_s - t_s;
      }
      means.push(work_J / spent_s);
    }
    const level = means.reduce((a, b) => a + b) / means.length;
    const steps = means.slice(1).map((p, i) => (p - (means[i] ?? 0)) / level);
    // Between neighbours the slow part hardly moves: half the mean square of their steps is the white one's.
    expect(Math.sqrt(steps.reduce((s, d) => s + d * d, 0) / steps.length / 2)).toBeGreaterThan(0.0026);
    expect(Math.sqrt(steps.reduce((s, d) => s + d * d, 0) / steps.length / 2)).toBeLessThan(0.0034);
    const spread = Math.sqrt(means.reduce((s, p) => s + (p / level - 1) ** 2, 0) / means.length);
    expect(Math.sqrt(spread * spread - 0.003 ** 2)).toBeGreaterThan(0.0035);
    expect(Math.sqrt(spread * spread - 0.003 ** 2)).toBeLessThan(0.0065);
  });
});

describe('builds', () => {
  const builds = [
    { name: 'A', power: 1, friction: 1, regenerator: 1, fall: 1, leak_rpm: 0 },
    { name: 'short rod 2B', power: 1.1, friction: 0.8, regenerator: 1, fall: 1, leak_rpm: -20 },
  ];
  const scatter = { power_share: 0.03, friction_share: 0.1, regenerator_share: 0 };
  const streams = (name: string) => randomStream(8, name);

  it('are drawn by seed and number alone, with the spread that the scenario says', () => {
    const [a, b] = builds;
    expect(assemble(b, 3, scatter, streams).power / assemble(a, 3, scatter, streams).power).toBeCloseTo(1.1, 12);
    expect(assemble(a, 3, scatter, streams)).toEqual(assemble(a, 3, scatter, streams));
    const logs = Array.from({ length: 4000 }, (_, i) => Math.log(assemble(a, i, scatter, streams).power));
    expect(Math.sqrt(logs.reduce((s, x) => s + x * x, 0) / logs.length) / 0.03).toBeCloseTo(1, 1.2);
    expect(assemble(b, 3, undefined, streams)).toMatchObject({ build: 'short rod 2B', number: 3, power: 1.1, friction: 0.8, leak_rpm: -20 });
  });

  it('change on the bench by act and by programme, and are told; the better one is better', () => {
    const told: (readonly [number, Assembly])[] = [];
    const acted: (readonly [number, Act])[] = [];
    const sink: LeanSink = { ...deaf, assembled: (t_s, assembly) => told.push([t_s, assembly]), acted: (t_s, act) => acted.push([t_s, act]) };
    const acts = [{ t_s: 400, act: 'build short rod 2B' }, { t_s: 410.25, act: 'flick 400' }];
    const world = new LeanWorld({ ...sound, builds, rebuild: scatter, programme: { ...sound.programme, acts } }, 8, sink);
    const first = seen(world, 400);
    expect(world.now().assembly).toEqual(assemble(builds[0], 0, scatter, streams));
    while (world.t_s < 409) world.leap();
    expect(world.now().speed_rpm).toBe(0);
    const second = seen(world, 800);
    expect(second.power_W).toBeGreaterThan(1.1 * first.power_W);
    expect(acted).toEqual([[400, { kind: 'build', name: 'short rod 2B' }], [410.25, { kind: 'flick', speed_rpm: 400 }]]);
    world.act(parseAct('rebuild'));
    expect(told.map(([, { build, number }]) => [build, number])).toEqual([['short rod 2B', 1], ['short rod 2B', 2]]);
    expect(told[1]?.[1]).toEqual(assemble(builds[1], 2, scatter, streams));
  });

  it('refuse a name that is not there, a displacer that hangs on a shaft, and a name twice', () => {
    const demand = (text: string): string => {
      try {
        new LeanWorld({ ...sound, builds }, 1, deaf).demand(parseAct(text));
      } catch (e) {
        return e instanceof SmallbrakeError ? `${e.code}: ${e.message}` : 'another error';
      }
      return 'taken';
    };
    expect(demand('build C')).toMatch(/^BAD_ACT.*"C" is no build of this scenario \(it has A, short rod 2B\)/);
    expect(demand('build A')).toBe('taken');
    expect(demand('rebuild')).toBe('taken');
    expect(demand('move displacer 3 times in 4 s')).toMatch(/^BAD_ACT.*no_shaft/);
    const refused = (change: object): unknown => {
      try {
        return checkScenario({ ...structuredClone(sound), ...change }, 'x');
      } catch (e) {
        return e instanceof SmallbrakeError ? e.values : e;
      }
    };
    expect(refused({ builds: [{ name: 'A' }, { name: 'A' }] })).toMatchObject({ key: 'builds[1].name' });
    expect(refused({ programme: { ...sound.programme, acts: [{ t_s: 1, act: 'build C' }] } })).toMatchObject({ key: 'programme.acts[0].act', value: '"build C"' });
    const engine: Record<string, unknown> = { ...sound.engine };
    delete engine['model'];
    expect(refused({ engine })).toMatchObject({ key: 'engine.torque_curve', value: 'missing' });
  });
});

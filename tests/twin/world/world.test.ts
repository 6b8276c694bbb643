import { describe, expect, it } from 'vitest';
import { builtIn, readScenario } from '../../../firmware/twin/scenario.js';
import type { Scenario } from '../../../firmware/twin/scenario.js';
import { parseAct } from '../../../firmware/twin/world/acts.js';
import type { Conversion } from '../../../firmware/twin/world/bridge.js';
import type { Surroundings, Wires } from '../../../firmware/twin/world/plant.js';
import { seriesAt } from '../../../firmware/twin/world/series.js';
import { World } from '../../../firmware/twin/world/world.js';

const teasel = readScenario(builtIn('teasel'));

class Heard {
  readonly told: unknown[] = [];
  readonly conversions: Conversion[] = [];
  readonly seen: ({ t_s: number } & Surroundings)[] = [];
  readonly contacts: { t_s: number; level: 0 | 1; first: boolean }[] = [];
  edges = 0;
  flow_pulses = 0;
  edge = (t_s: number, level: 0 | 1, magnet: number): void => {
    if (level === 0) this.edges++;
    this.told.push([t_s, level, magnet]);
  };
  missed = (t_s: number): void => void this.told.push(['missed', t_s]);
  conversion = (c: Conversion): void => {
    this.conversions.push(c);
    this.told.push(c);
  };
  surroundings = (t_s: number, s: Surroundings, w: Wires): void => {
    this.told.push([t_s, s, w]);
    this.seen.push({ t_s, ...s });
  };
  flowLine = (t_s: number, level: 0 | 1): void => {
    if (level === 0) this.flow_pulses++;
    this.told.push(['flow', t_s, level]);
  };
  contact = (t_s: number, level: 0 | 1, first: boolean): void => void this.contacts.push({ t_s, level, first });
  board = (t_s: number, event: unknown): void => void this.told.push([t_s, event]);
  fault = (t_s: number, fault: unknown): void => void this.told.push([t_s, fault]);
}

function run(scenario: Scenario, seed: number, t_s: number, chunk_s = 1): Heard {
  const heard = new Heard();
  const world = new World(scenario, seed, heard);
  for (let t = chunk_s; t < t_s; t += chunk_s) world.advance(t);
  world.advance(t_s);
  return heard;
}

describe('world', () => {
  it('is the same for the same seed, however it is sliced, and another for another', () => {
    const a = run(teasel, 5, 20);
    expect(run(teasel, 5, 20, 0.0137).told).toEqual(a.told);
    const b = run(teasel, 6, 20);
    expect(b.told).not.toEqual(a.told);
    // Only noise follows the seed: the shaft does not.
    expect(b.edges).toBe(a.edges);
  });

  it('does not move one noise when another is taken away', () => {
    const quiet = { ...teasel, rig: { ...teasel.rig, cell: { ...teasel.rig.cell, walk_counts_per_sqrt_h: 0 } } };
    const a = run(teasel, 5, 5).conversions;
    const b = run(quiet, 5, 5).conversions;
    // What is left of the difference is the walk alone: a few counts in five seconds, not 38 each.
    for (const [i, c] of a.entries()) expect(Math.abs(c.count - (b[i]?.count ?? NaN))).toBeLessThan(25);
  });

  it('runs the demo in its working range once warm: 1 to 3 W near 600 to 900 rev/min', () => {
    const world = new World(teasel, 1, new Heard());
    world.advance(240);
    for (let t = 250; t < 480; t += 10) {
      world.advance(t);
      const now = world.now();
      expect(now.power_W).toBeGreaterThan(1);
      expect(now.power_W).toBeLessThan(3);
      expect(now.speed_rpm).toBeGreaterThan(500);
      expect(now.speed_rpm).toBeLessThan(950);
    }
  });

  it('makes 400 edges and 80 conversions a second at full load', () => {
    const heard = run(readScenario(builtIn('full-load')), 1, 60);
    expect(heard.edges).toBeGreaterThanOrEqual(23_999);
    expect(heard.edges).toBeLessThanOrEqual(24_001);
    expect(heard.conversions).toHaveLength(4800);
  });

  it('feels what the hands do', () => {
    const heard = new Heard();
    const still = { ...teasel, programme: { ...teasel.programme, heat: { between: 'step', points: [{ t_s: 0, value: 0 }] } } } as const;
    const world = new World({ ...still, engine: { ...still.engine, hot_start: 0 } }, 1, heard);
    world.act(parseAct('hang 100 g'));
    world.advance(5);
    expect(world.now().force_N).toBeCloseTo(0.1 * teasel.rig.gravity_m_s2, 6);
    const count = teasel.rig.cell.zero_counts + teasel.rig.cell.slope_counts_per_N * 0.1 * teasel.rig.gravity_m_s2;
    expect(Math.abs((heard.conversions.at(-1)?.count ?? 0) - count)).toBeLessThan(250);
    world.act(parseAct('hang 0'));
    world.advance(10);
    expect(world.now().force_N).toBeCloseTo(0, 6);
    world.act(parseAct('brake 0.4'));
    world.act(parseAct('heat 0.8'));
    world.act(parseAct('flick 300'));
    world.advance(10.5);
    expect(world.now()).toMatchObject({ simulated: true, brake_set: 0.4, heat_set: 0.8 });
    expect(world.now().speed_rpm).toBeGreaterThan(200);
    world.act(parseAct('brake programme'));
    world.advance(10.6);
    expect(world.now().brake_set).toBe(0.3);
    world.act(parseAct('unplug 2 s'));
    world.act(parseAct('reset'));
    world.advance(13);
    expect(heard.told).toContainEqual([10.6, { kind: 'cable', plugged: false }]);
    expect(heard.told).toContainEqual([10.6, { kind: 'reset' }]);
    const back = heard.told.find((r) => Array.isArray(r) && (r[1] as { plugged?: boolean } | undefined)?.plugged === true) as [number, unknown];
    expect(back[0]).toBeCloseTo(12.6, 3);
  });

  it('gives the reaction of the brake over the arm as force', () => {
    const world = new World(readScenario(builtIn('full-load')), 1, new Heard());
    world.advance(20);
    expect(world.now().force_N).toBeCloseTo(0.04 / 0.05, 6);
    expect(world.now().power_W).toBeCloseTo(0.04 * ((2000 * 2 * Math.PI) / 60), 1);
  });

  it('ends overlapping pulls of the cable when the last of them does', () => {
    const heard = run({ ...teasel, faults: [{ kind: 'unplug', t_s: 1, for_s: 2 }, { kind: 'unplug', t_s: 2, for_s: 3 }] }, 1, 8);
    const cable = heard.told.filter((r): r is [number, { kind: string; plugged: boolean }] => Array.isArray(r) && (r[1] as { kind?: string } | undefined)?.kind === 'cable');
    expect(cable.map(([t, e]) => [t, e.plugged])).toEqual([[1, false], [5, true]]);
  });
});

describe('series', () => {
  const points = [{ t_s: 10, value: 0.2 }, { t_s: 20, value: 0.6 }];

  it('holds, ramps and repeats', () => {
    const at = (s: Parameters<typeof seriesAt>[0], ...t: number[]): number[] => t.map((x) => Number(seriesAt(s, x).toFixed(9)));
    expect(at({ between: 'step', points }, 0, 10, 15, 20, 99)).toEqual([0.2, 0.2, 0.2, 0.6, 0.6]);
    expect(at({ between: 'ramp', points }, 0, 10, 15, 20, 99)).toEqual([0.2, 0.2, 0.4, 0.6, 0.6]);
    expect(at({ between: 'step', points, repeat_every_s: 30 }, 25, 30, 45, 50, 60)).toEqual([0.6, 0.2, 0.2, 0.6, 0.2]);
  });
});

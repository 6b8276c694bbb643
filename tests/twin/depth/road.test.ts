import { describe, expect, test } from 'vitest';
import { BlockRoad } from '../../../firmware/twin/depth/road.js';
import type { RoadItem } from '../../../firmware/twin/depth/road.js';
import { rowsInOrder } from '../../../firmware/twin/depth/block.js';
import { SamplesBench } from '../../../firmware/twin/depth/samples.js';
import { builtIn, readScenario } from '../../../firmware/twin/scenario.js';
import type { Scenario } from '../../../firmware/twin/scenario.js';

const teasel = readScenario(builtIn('teasel'));
const scenario: Scenario = {
  ...teasel,
  engine: { ...teasel.engine, hot_start: 1, start_rpm: 500 },
  faults: [{ kind: 'unplug', t_s: 4, for_s: 5 }, { kind: 'reset', t_s: 15 }, { kind: 'line_noise', t_s: 20, for_s: 2, share: 0.003 }],
};

type Of<K extends RoadItem['kind']> = Extract<RoadItem, { kind: K }>;
const of = <K extends RoadItem['kind']>(items: readonly RoadItem[], kind: K): Of<K>[] => items.filter((i): i is Of<K> => i.kind === kind);

describe('a bench as the host takes it, at dated message', () => {
  const bench = new SamplesBench(scenario, 4, { reuse: true });
  const road = new BlockRoad(bench, { boot_id: 30 });
  const items: RoadItem[] = [];
  let rows = 0;
  for (let t_s = 1.7; t_s < 70; t_s += 1.7) {
    const block = bench.run(t_s);
    rows += Array.from(rowsInOrder(block)).length;
    items.push(...road.datedMessages(block));
  }

  test('two boots, each begun before its messages, marked as simulated', () => {
    expect(of(items, 'boot').map((b) => [b.boot.boot_id, b.boot.simulated, b.boot.hello.boot_count])).toEqual([[30, true, 1], [31, true, 2]]);
    expect(items[0]?.kind).toBe('boot');
    expect(items[1]?.kind).toBe('clockMap');
    const second = items.findIndex((i) => i.kind === 'boot' && i.boot.boot_id === 31);
    expect(items.slice(0, second).every((i) => i.kind !== 'message' || i.dated.boot_id === 30)).toBe(true);
    expect(items.slice(second).every((i) => i.kind !== 'message' || i.dated.boot_id === 31)).toBe(true);
  });

  test('every message of the blocks, with its tick whole', () => {
    expect(of(items, 'message').length).toBe(rows);
    const force = of(items, 'message').filter((m) => m.dated.message.name === 'force' && m.dated.boot_id === 31);
    expect(force.length).toBeGreaterThan(4000);
    force.forEach((m, i) => expect(i === 0 || m.dated.tick > (force[i - 1]?.dated.tick ?? 0)).toBe(true));
  });

  test('a gap for what the cable lost: as many as the sequence numbers say', () => {
    const lost = of(items, 'gap').filter((g) => g.gap.stream === 'force' && g.gap.boot_id === 30).reduce((sum, g) => sum + g.gap.lost, 0);
    expect(lost).toBeGreaterThanOrEqual(415);
    expect(lost).toBeLessThanOrEqual(418);
    expect(of(items, 'gap').some((g) => g.gap.boot_id === 31)).toBe(true);
  });

  test('a clock map that is wrong by what it says', () => {
    const pieces = of(items, 'clockMap').map((p) => p.piece);
    expect(pieces.length).toBeGreaterThanOrEqual(3);
    const error_us = pieces.map((p) => p.utc_us - 1_767_225_600e6 - bench.timeOf(p.boot_id - 30, p.tick_from) * 1e6);
    expect(Math.max(...error_us.map(Math.abs))).toBeLessThan(500);
    expect(Math.max(...error_us.map(Math.abs))).toBeGreaterThan(10);
    // The crystal runs 18 ppm fast: its ticks are short.
    pieces.forEach((p) => expect(p.us_per_tick / 0.5).toBeCloseTo(1 - 18e-6, 5));
  });

  test('the truth beside each sample is of the same moment', () => {
    const again = new SamplesBench({ ...scenario, faults: [] }, 4);
    again.at(3, { kind: 'hang', mass_kg: 0.1 });
    const { force, edge } = again.run(20);
    expect(force.n).toBeGreaterThan(1600);
    for (let i = 40; i < force.n; i++) {
      expect(again.timeOf(0, force.tick[i] ?? NaN)).toBeCloseTo(force.t_s[i] ?? NaN, 5);
    }
    const { slope_counts_per_N, zero_counts, noise_counts } = scenario.rig.cell;
    const off = Array.from({ length: force.n - 100 }, (_, i) => (force.count[i + 100] ?? 0) - zero_counts - slope_counts_per_N * (force.filtered_N[i + 100] ?? 0));
    const mean = off.reduce((a, b) => a + b, 0) / off.length;
    const sd = Math.sqrt(off.reduce((a, b) => a + (b - mean) ** 2, 0) / off.length);
    expect(Math.abs(mean)).toBeLessThan(60);
    expect(sd / noise_counts).toBeGreaterThan(0.9);
    expect(sd / noise_counts).toBeLessThan(1.2);
    for (let i = 10; i < edge.n; i++) {
      const period_s = (((edge.tick[i] ?? 0) - (edge.tick[i - 4] ?? 0)) * again.us_per_tick) / 1e6;
      expect(Math.abs((2 * Math.PI) / period_s / (edge.speed_rad_s[i] ?? NaN) - 1)).toBeLessThan(0.03);
    }
  });
});

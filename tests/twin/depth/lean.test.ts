import { describe, expect, test } from 'vitest';
import { LeanWorld } from '../../../firmware/twin/depth/lean-world.js';
import type { LeanSink } from '../../../firmware/twin/depth/lean-world.js';
import { builtIn, readScenario } from '../../../firmware/twin/scenario.js';
import type { Scenario } from '../../../firmware/twin/scenario.js';
import { parseAct } from '../../../firmware/twin/world/acts.js';
import type { Conversion } from '../../../firmware/twin/world/bridge.js';
import { World } from '../../../firmware/twin/world/world.js';
import type { WorldNow, WorldSink } from '../../../firmware/twin/world/world.js';

const teasel = readScenario(builtIn('teasel'));
const fullLoad = readScenario(builtIn('full-load'));

class Heard implements WorldSink, LeanSink {
  readonly edges: { t_s: number; magnet: number }[] = [];
  readonly conversions: Conversion[] = [];
  readonly pulses: number[] = [];
  edge(t_s: number, level: 0 | 1, magnet: number): void {
    if (level === 0) this.edges.push({ t_s, magnet });
  }
  conversion(c: Conversion): void {
    this.conversions.push(c);
  }
  flowLine(t_s: number, level: 0 | 1): void {
    if (level === 0) this.pulses.push(t_s);
  }
  missed(): void {
    // Not compared.
  }
  surroundings(): void {
    // Asked for by now().
  }
  stand(): void {
    // Asked for by now().
  }
  contact(): void {
    // Not compared.
  }
  board(): void {
    // Not compared.
  }
  fault(): void {
    // Not compared.
  }
}

interface Done {
  readonly heard: Heard;
  readonly nows: WorldNow[];
}

/** Both worlds over the same scenario and acts, looked at every second. */
function both(scenario: Scenario, seconds: number, acts: readonly (readonly [number, string])[] = []): { readonly small: Done; readonly lean: Done } {
  const small = { heard: new Heard(), nows: [] as WorldNow[] };
  const lean = { heard: new Heard(), nows: [] as WorldNow[] };
  const world = new World(scenario, 5, small.heard);
  const leaping = new LeanWorld(scenario, 5, lean.heard);
  for (const [t_s, text] of acts) leaping.at(t_s, parseAct(text), () => undefined);
  const left = [...acts];
  for (let t_s = 1; t_s <= seconds; t_s++) {
    while (leaping.t_s < t_s - 1e-9) leaping.leap();
    // The lean world stands at its next conversion; the other one is taken to the step nearest to that.
    for (const act of left.splice(0, left.filter(([at_s]) => at_s <= leaping.t_s).length)) {
      world.advance(act[0]);
      world.act(parseAct(act[1]));
    }
    world.advance(leaping.t_s);
    small.nows.push(world.now());
    lean.nows.push(leaping.now());
  }
  return { small, lean };
}

const worst = (a: readonly number[], b: readonly number[]): number => a.slice(0, b.length).reduce((w, v, i) => Math.max(w, Math.abs(v - (b[i] as number))), 0);
const column = (d: Done, name: keyof WorldNow): number[] => d.nows.map((n) => n[name] as number);

describe('the lean world against the one of small equal steps', () => {
  test('over the Teasel warming up, running and braked through two steps of its curve', () => {
    const { small, lean } = both(teasel, 100);
    expect(column(small, 'speed_rpm').at(-1)).toBeGreaterThan(500);
    expect(worst(column(small, 'speed_rpm'), column(lean, 'speed_rpm'))).toBeLessThan(0.3);
    // Half a step of time lies between what both are asked about, and the torque swings.
    expect(worst(column(small, 'torque_Nm'), column(lean, 'torque_Nm'))).toBeLessThan(8e-6);
    for (const name of ['hot_C', 'wall_C', 'jacket_C', 'coolant_out_C', 'skin_C', 'junction_C'] as const) {
      // Either has worked its heat out for a step that lies up to 12 ms ahead, and the cap warms by 7 K/s at first.
      expect(worst(column(small, name), column(lean, name)), name).toBeLessThan(name === 'hot_C' || name === 'wall_C' ? 0.08 : 0.02);
    }
    expect(worst(column(small, 'brake_warm_K'), column(lean, 'brake_warm_K'))).toBeLessThan(0.002);
  });

  test('in what each sensor is given, conversion by conversion and edge by edge', () => {
    const { small, lean } = both({ ...teasel, engine: { ...teasel.engine, hot_start: 1, start_rpm: 500 } }, 60);
    const n = Math.min(small.heard.conversions.length, lean.heard.conversions.length);
    expect(n).toBeGreaterThan(4900);
    const filtered = (d: Done): number[] => d.heard.conversions.slice(0, n).map((c) => c.filtered_N);
    // A hundredth of a gram is 98 uN, the cell's noise 177 uN.
    expect(worst(filtered(small), filtered(lean))).toBeLessThan(4e-5);
    const { edges } = small.heard;
    const same = lean.heard.edges.slice(0, edges.length);
    expect(edges.length).toBeGreaterThan(2500);
    expect(same.map((e) => e.magnet)).toEqual(edges.slice(0, same.length).map((e) => e.magnet));
    // What both are apart adds up, by some millionths of the time gone by.
    const late_s = same.map((e, i) => e.t_s - (edges[i]?.t_s ?? NaN));
    expect(Math.max(...late_s.map(Math.abs))).toBeLessThan(150e-6);
    // From one edge to the next, which is what a speed is made of: less than a tick.
    expect(Math.max(...late_s.slice(1).map((l, i) => Math.abs(l - (late_s[i] ?? 0))))).toBeLessThan(0.5e-6);
    expect(worst(small.heard.pulses, lean.heard.pulses)).toBeLessThan(1e-9);
  });

  test('at full load and a steady speed', () => {
    const { small, lean } = both(fullLoad, 5);
    expect(worst(column(small, 'speed_rpm'), column(lean, 'speed_rpm'))).toBeLessThan(0.02);
    const late_s = lean.heard.edges.map((e, i) => e.t_s - (small.heard.edges[i]?.t_s ?? e.t_s));
    expect(lean.heard.edges.length).toBeGreaterThan(1990);
    expect(Math.max(...late_s.map(Math.abs))).toBeLessThan(2e-6);
  });

  test('where the engine stalls under a rope, stands with a mass hung on it, and is spun by hand', () => {
    const roped: Scenario = { ...teasel, brake: { kind: 'rope', force_difference_full_N: 10, drum_diameter_m: 0.03, rope_diameter_m: 0.002 }, engine: { ...teasel.engine, hot_start: 1, start_rpm: 400 } };
    const { small, lean } = both(roped, 20, [[3, 'brake 1'], [8, 'hang 50 g'], [12, 'brake 0'], [13, 'flick 250']]);
    expect(column(small, 'speed_rpm')[7]).toBe(0);
    expect(column(lean, 'speed_rpm')[7]).toBe(0);
    expect(column(small, 'speed_rpm')[17]).toBeGreaterThan(200);
    expect(worst(column(small, 'speed_rpm').slice(0, 3), column(lean, 'speed_rpm').slice(0, 3))).toBeLessThan(0.05);
    // While it stands, only how it came to rest differs.
    expect(worst(column(small, 'force_N').slice(9, 11), column(lean, 'force_N').slice(9, 11))).toBeLessThan(1e-3);
    expect(worst(column(small, 'speed_rpm').slice(13), column(lean, 'speed_rpm').slice(13))).toBeLessThan(0.2);
  });
});

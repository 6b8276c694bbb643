import { describe, expect, test } from 'vitest';
import { decodeLine } from '../../../protocol/codec.js';
import type { BoardMessage } from '../../../protocol/messages.js';
import { messagesOf } from '../../../firmware/twin/depth/block.js';
import { LeanWorld } from '../../../firmware/twin/depth/lean-world.js';
import type { LeanSink } from '../../../firmware/twin/depth/lean-world.js';
import { eepromWithId } from '../../../firmware/twin/depth/record.js';
import { SamplesBench } from '../../../firmware/twin/depth/samples.js';
import { WireBoard } from '../../../firmware/twin/depth/wire.js';
import { builtIn, readScenario } from '../../../firmware/twin/scenario.js';
import type { Scenario } from '../../../firmware/twin/scenario.js';
import type { TruthRecord } from '../../../firmware/twin/truth.js';
import { World } from '../../../firmware/twin/world/world.js';
import type { WorldNow, WorldSink } from '../../../firmware/twin/world/world.js';

const nothing = (): void => undefined;
const deaf: LeanSink & WorldSink = { edge: nothing, missed: nothing, conversion: nothing, stand: nothing, surroundings: nothing, flowLine: nothing, contact: nothing, board: nothing, fault: nothing };
const fade = readScenario(builtIn('fade'));

/** Wander, a rebuild, and every fault that lasts, in a minute. */
const busy: Scenario = {
  ...fade,
  builds: [
    { name: 'A', power: 1, friction: 1, regenerator: 1, fall: 1, leak_rpm: 0 },
    { name: 'B', power: 1.1, friction: 0.9, regenerator: 0.8, fall: 1.1, leak_rpm: 10 },
  ],
  rebuild: { power_share: 0.03, friction_share: 0.05, regenerator_share: 0.05 },
  programme: { ...fade.programme, acts: [{ t_s: 30.1234, act: 'build B' }, { t_s: 31.77, act: 'flick 450' }] },
  faults: [
    { kind: 'softening', t_s: 2.3, ramp_s: 20, power_share: 0.05, friction_share: 0.1, phase_deg: 10, warmth: { above_C: 50, part_share: 0.12, recovers: true } },
    { kind: 'displacer_rub', t_s: 5.2, ramp_s: 0, for_s: 20, friction_Nm: 0.001, angle_deg: 40 },
    { kind: 'displacer_leak', t_s: 8, ramp_s: 5, power_share: 0.02, heat_W_K: 0.01 },
    { kind: 'gas_leak', t_s: 9.1, ramp_s: 3, leak_rpm: 30 },
    { kind: 'regenerator_tight', t_s: 11, ramp_s: 0, windage_Nms2: 1e-7 },
    { kind: 'regenerator_poor', t_s: 12, ramp_s: 2, power_share: 0.01, heat_J_K: 0.002 },
    { kind: 'flow_reduced', t_s: 13, ramp_s: 4, share: 0.3 },
    { kind: 'brake_fade', t_s: 14, ramp_s: 4, share: 0.1 },
    { kind: 'heater_fade', t_s: 15, ramp_s: 4, share: 0.1 },
    { kind: 'air_growing', t_s: 16, ramp_s: 4, share: 0.4, jumpy_share: 0.3 },
    { kind: 'coolant_warming', t_s: 17, ramp_s: 4, rise_K: 3 },
    { kind: 'zero_drift', t_s: 18, ramp_s: 20, counts: 900 },
  ],
};

describe('a session on a cycle that wanders, wears and is rebuilt', { timeout: 60_000 }, () => {
  test('is the same in small steps and in leaps', () => {
    const small = new World(busy, 5, deaf);
    const lean = new LeanWorld(busy, 5, deaf);
    const apart = (of: keyof WorldNow): number => {
      return Math.abs((small.now()[of] as number) - (lean.now()[of] as number));
    };
    for (let t_s = 1; t_s <= 60; t_s++) {
      while (lean.t_s < t_s - 1e-9) lean.leap();
      small.advance(lean.t_s);
      expect(apart('speed_rpm'), `speed at ${t_s} s`).toBeLessThan(0.3);
      expect(apart('torque_Nm'), `torque at ${t_s} s`).toBeLessThan(8e-6);
      for (const of of ['hot_C', 'wall_C', 'jacket_C', 'coolant_out_C', 'skin_C', 'coolant_in_C'] as const) expect(apart(of), `${of} at ${t_s} s`).toBeLessThan(0.02);
      for (const of of ['heater_share', 'air_share'] as const) expect(apart(of), `${of} at ${t_s} s`).toBeLessThan(1e-3);
      expect(apart('power_share')).toBeLessThan(2e-3);
      expect(lean.now().assembly).toEqual(small.now().assembly);
    }
    expect(lean.now().assembly.number).toBe(1);
    expect(lean.now().speed_rpm).toBeGreaterThan(200);
  });

  test('comes out of the wire as it fills arrays, in slices of any length, and the truth tells acts and assembly', () => {
    const truth: TruthRecord[] = [];
    let text = '';
    const wire = new WireBoard({ scenario: busy, seed: 5, eeprom: eepromWithId(77), truth: { record: (r) => truth.push(r) }, out: (bytes) => (text += Buffer.from(bytes).toString('latin1')) });
    while (wire.t_s < 45) wire.advance(Math.min(45, wire.t_s + 0.037));
    const said = text.split('\n').slice(0, -1).map((line) => decodeLine(line)).filter((m): m is BoardMessage => typeof m !== 'string');
    const bench = new SamplesBench(busy, 5, { board_id: 77, reuse: true });
    const filled: BoardMessage[] = [];
    for (let t_s = 9; t_s <= 45; t_s += 9) filled.push(...messagesOf(bench.run(t_s)));
    const n = Math.min(said.length, filled.length);
    expect(n).toBeGreaterThan(4000);
    expect(Math.abs(said.length - filled.length)).toBeLessThan(5);
    expect(filled.slice(0, n)).toEqual(said.slice(0, n));
    expect(truth.filter((r) => r.kind === 'act').map((r) => [r.t_s, r.act])).toEqual([[30.1234, { kind: 'build', name: 'B' }], [31.77, { kind: 'flick', speed_rpm: 450 }]]);
    expect(truth.filter((r) => r.kind === 'assembly').map((r) => r.assembly)).toEqual([bench.now().assembly]);
    expect(truth.filter((r) => r.kind === 'fault').length).toBe(12);
  });
});

import { describe, expect, test } from 'vitest';
import { decodeLine } from '../../../protocol/codec.js';
import type { BoardMessage } from '../../../protocol/messages.js';
import { messagesOf } from '../../../firmware/twin/depth/block.js';
import { eepromWithId } from '../../../firmware/twin/depth/record.js';
import { SamplesBench } from '../../../firmware/twin/depth/samples.js';
import { WireBoard } from '../../../firmware/twin/depth/wire.js';
import { builtIn, readScenario } from '../../../firmware/twin/scenario.js';
import type { Scenario } from '../../../firmware/twin/scenario.js';
import type { Act } from '../../../firmware/twin/world/acts.js';
import type { Fault } from '../../../firmware/twin/world/faults.js';
import { randomStream } from '../../../firmware/twin/world/random.js';

const teasel = readScenario(builtIn('teasel'));
const fullLoad = readScenario(builtIn('full-load'));
const SECONDS = 12;

/** A bench day in twelve seconds, drawn by the seed: what is hung, set and pressed, and what goes wrong. */
function drawn(seed: number): { readonly scenario: Scenario; readonly acts: readonly { readonly t_s: number; readonly act: Act }[] } {
  const random = randomStream(seed, 'drawn');
  const uniform = (): number => random.uniform();
  const when = (): number => Math.round(uniform() * SECONDS * 1000) / 1000;
  const some = <T>(all: readonly T[], n: number): T[] => Array.from({ length: n }, () => all[Math.floor(uniform() * all.length)] as T);
  const faults: Fault[] = [
    { kind: 'unplug', t_s: when(), for_s: 0.7 },
    { kind: 'line_noise', t_s: when(), for_s: 2, share: 0.004 },
    { kind: 'bridge_desync', t_s: when(), count: 3, pulse: uniform() < 0.5 ? 'lost' : 'extra' },
    { kind: 'bridge_unplugged', t_s: when(), for_s: 1.5 },
    ...some<Fault>(
      [
        { kind: 'reset', t_s: when() },
        { kind: 'bridge_wire', t_s: when(), for_s: 0.4 },
        { kind: 'bridge_stuck', t_s: when(), for_s: 0.9 },
        { kind: 'double_pulse', t_s: when(), count: 3, gap_s: 0.0005 },
        { kind: 'missed_pulse', t_s: when(), count: 2 },
        { kind: 'thermocouple_open', t_s: when(), for_s: 2 },
        { kind: 'thermocouple_stuck', t_s: when(), for_s: 2 },
        { kind: 'thermistors_swapped', t_s: when(), for_s: 3 },
        { kind: 'flow_lost', t_s: when(), for_s: 2 },
        { kind: 'magnet_slip', t_s: when(), magnet: 2, angle_deg: 2 },
        { kind: 'zero_shift', t_s: when(), counts: 900 },
      ],
      6,
    ),
  ];
  const acts: Act[] = [
    { kind: 'hang', mass_kg: 0.1 * uniform() },
    { kind: 'flick', speed_rpm: 900 * uniform() },
    { kind: 'brake', level: uniform() },
    { kind: 'heat', level: uniform() },
    { kind: 'flow', flow_Lpmin: uniform() },
    { kind: 'press' },
    { kind: 'press' },
    { kind: 'unplug', for_s: 0.3 },
    { kind: 'reset' },
  ];
  const base = seed % 2 === 0 ? teasel : fullLoad;
  const engine = { ...base.engine, hot_start: uniform() < 0.3 ? 0 : 1, start_rpm: uniform() < 0.3 ? 0 : base.engine.start_rpm };
  return { scenario: { ...base, engine, faults, programme: { ...base.programme, press_every_s: 0.9 } }, acts: acts.map((act) => ({ t_s: when(), act })).sort((a, b) => a.t_s - b.t_s) };
}

/** What comes out of the wire, in slices of any length; acts are done when their time is next. */
function overWire(seed: number, given: ReturnType<typeof drawn>, slice_s: () => number): BoardMessage[] {
  let text = '';
  const wire = new WireBoard({ scenario: given.scenario, seed, eeprom: eepromWithId(77), truth: null, out: (bytes) => (text += Buffer.from(bytes).toString('latin1')) });
  for (const { t_s, act } of given.acts) wire.at(t_s, act);
  while (wire.t_s < SECONDS) wire.advance(Math.min(SECONDS, wire.t_s + slice_s()));
  return text
    .split('\n')
    .slice(0, -1)
    .map((line) => decodeLine(line))
    .filter((m): m is BoardMessage => typeof m !== 'string');
}

function asSamples(seed: number, given: ReturnType<typeof drawn>, slice_s: number): BoardMessage[] {
  const bench = new SamplesBench(given.scenario, seed, { board_id: 77, reuse: true });
  for (const { t_s, act } of given.acts) bench.at(t_s, act);
  const all: BoardMessage[] = [];
  while (bench.t_s < SECONDS) all.push(...messagesOf(bench.run(Math.min(SECONDS, bench.t_s + slice_s))));
  return all;
}

describe('the depths without a chip', () => {
  test.each([1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12])('say the same, message for message, whatever happens (seed %i)', (seed) => {
    const given = drawn(seed);
    const random = randomStream(seed, 'slices');
    const wire = overWire(seed, given, () => 0.002 + 0.1 * random.uniform());
    const samples = asSamples(seed, given, 1 + seed / 7);
    expect(wire.length).toBeGreaterThan(600);
    expect(samples.length).toBe(wire.length);
    expect(samples).toEqual(wire);
  });

  test('are not the same for another seed', () => {
    expect(asSamples(1, drawn(2), 3)).not.toEqual(asSamples(2, drawn(2), 3));
  });
});

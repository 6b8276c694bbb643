import { readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import { SmallbrakeError } from '../../../host/errors.js';
import { builtIn, checkScenario, readScenario } from '../../../firmware/twin/scenario.js';

/** A scenario as parsed: any key may be there. */
interface Tree {
  [key: string]: unknown;
}
const at = (tree: Tree, ...keys: string[]): Tree => keys.reduce((t, k) => t[k] as Tree, tree);

/** The demo with one thing changed. */
function demo(change: (s: Tree) => void): unknown {
  const s = JSON.parse(readFileSync(builtIn('teasel'), 'utf8')) as Tree;
  change(s);
  return s;
}

function refusal(change: (s: Tree) => void): SmallbrakeError {
  try {
    checkScenario(demo(change), 'bench.json');
  } catch (e) {
    if (e instanceof SmallbrakeError) return e;
    throw e;
  }
  throw new Error('it was not refused');
}

describe('scenario', () => {
  it('ships sound ones, and fills in what they leave out', () => {
    expect(readScenario(builtIn('teasel')).faults).toEqual([]);
    const full = readScenario(builtIn('full-load'));
    expect(full.board.crystal_ppm).toBe(0);
    expect(full.rig.gravity_m_s2).toBe(9.80665);
    expect(full.programme.heat.between).toBe('step');
    expect(full.rig.adc).toEqual({ inl_LSB: 0.6, noise_LSB: 0.4 });
    expect(full.programme.spare_V).toEqual({ between: 'step', points: [{ t_s: 0, value: 0.5 }] });
    expect(full.heat.cap_J_K).toBe(20);
    const s = checkScenario(demo((d) => (d['faults'] = [{ kind: 'double_pulse', t_s: 3 }])), 'x');
    expect(s.faults).toEqual([{ kind: 'double_pulse', t_s: 3, count: 1, gap_s: 0.0005 }]);
    const rope = checkScenario(demo((d) => (d['brake'] = { kind: 'rope', force_difference_full_N: 1, drum_diameter_m: 0.04 })), 'x');
    expect(rope.brake).toMatchObject({ rope_diameter_m: 0 });
  });

  it.each<[string, (s: Tree) => void, { key: string; value: string; limit: RegExp }]>([
    ['an unknown key', (s) => (at(s, 'rig', 'arm')['lenght_m'] = 0.05), { key: 'rig.arm.lenght_m', value: 'not a known key', limit: /known here: length_m, ring_Hz, damping/ }],
    ['an unknown key at the top', (s) => (s['sead'] = 1), { key: 'sead', value: 'not a known key', limit: /seed/ }],
    ['a missing key', (s) => delete at(s, 'engine')['inertia_kgm2'], { key: 'engine.inertia_kgm2', value: 'missing', limit: /must be given/ }],
    ['a number too large', (s) => (at(s, 'rig', 'arm')['length_m'] = 3), { key: 'rig.arm.length_m', value: '3', limit: /<= 1/ }],
    ['a wrong type', (s) => (s['seed'] = '7'), { key: 'seed', value: '"7"', limit: /integer/ }],
    ['a rate that no strap gives', (s) => (at(s, 'rig', 'converter')['rate_nominal_Hz'] = 40), { key: 'rig.converter.rate_nominal_Hz', value: '40', limit: /10, 80/ }],
    ['an unknown brake', (s) => (at(s, 'brake')['kind'] = 'water'), { key: 'brake.kind', value: '"water"', limit: /rope, eddy/ }],
    ['a key of the other brake', (s) => (at(s, 'brake')['drum_diameter_m'] = 0.04), { key: 'brake.drum_diameter_m', value: 'not a known key', limit: /critical_rpm/ }],
    ['an unknown fault', (s) => (s['faults'] = [{ kind: 'gremlin', t_s: 1 }]), { key: 'faults[0].kind', value: '"gremlin"', limit: /missed_pulse/ }],
    ['a fault with a wrong key', (s) => (s['faults'] = [{ kind: 'reset', t_s: 1 }, { kind: 'unplug', t_s: 1, for: 2 }]), { key: 'faults[1].for_s', value: 'missing', limit: /given/ }],
    ['a sensor that is not there', (s) => (s['faults'] = [{ kind: 'thermistor_open', t_s: 1, for_s: 1, sensor: 'oil' }]), { key: 'faults[0].sensor', value: '"oil"', limit: /coolant_in.*skin/ }],
    ['more flow than a meter takes', (s) => (at(s, 'programme')['flow_Lpmin'] = { points: [{ t_s: 0, value: 50 }] }), { key: 'programme.flow_Lpmin.points[0].value', value: '50', limit: /<= 10/ }],
    ['more volts than the supply', (s) => (at(s, 'programme')['spare_V'] = { points: [{ t_s: 0, value: 6 }] }), { key: 'programme.spare_V.points[0].value', value: '6', limit: /<= 5/ }],
    ['a magnet that is not there', (s) => (s['faults'] = [{ kind: 'magnet_slip', t_s: 1, magnet: 5, angle_deg: 3 }]), { key: 'faults[0].magnet', value: '5', limit: /only 4 magnets/ }],
    ['times that fall', (s) => (at(s, 'programme')['heat'] = { points: [{ t_s: 5, value: 1 }, { t_s: 4, value: 0 }] }), { key: 'programme.heat.points[1].t_s', value: '4', limit: /later.*5/ }],
    ['a programme longer than its repeat', (s) => (at(s, 'programme', 'brake')['repeat_every_s'] = 100), { key: 'programme.brake.repeat_every_s', value: '100', limit: /200/ }],
    ['speeds that fall', (s) => (at(s, 'engine', 'torque_curve', '1')['speed_rpm'] = -1), { key: 'engine.torque_curve[1].speed_rpm', value: '-1', limit: /above.*0/ }],
    ['magnets that overlap', (s) => (at(s, 'rig')['pickup'] = { magnets: 12, error_deg: [10, -10], width_deg: 12 }), { key: 'rig.pickup.width_deg', value: '12', limit: /magnets 1 and 2 are only 10 degrees/ }],
    ['more errors than magnets', (s) => (at(s, 'rig')['pickup'] = { magnets: 1, error_deg: [0, 1] }), { key: 'rig.pickup.error_deg', value: '2 long', limit: /only 1 magnet/ }],
  ])('refuses %s, by name', (_, change, expected) => {
    const error = refusal(change);
    expect(error.code).toBe('BAD_SCENARIO');
    expect(error.values).toMatchObject({ file: 'bench.json', key: expected.key, value: expected.value });
    expect(error.values['limit']).toMatch(expected.limit);
  });

  it('does not touch what it was given', () => {
    const given = demo(() => undefined);
    const copy = structuredClone(given);
    checkScenario(given, 'x');
    expect(given).toEqual(copy);
  });

  it('names a file that is missing, and text that is no JSON', () => {
    expect(() => readScenario('/nowhere/bench.json')).toThrow(expect.objectContaining({ code: 'CANNOT_READ' }) as Error);
    expect(() => readScenario(builtIn('teasel').replace('teasel.json', '../main.ts'))).toThrow(expect.objectContaining({ code: 'BAD_SCENARIO' }) as Error);
  });
});

import { describe, expect, it } from 'vitest';

import { limitRows, limitsOf, changedLimits } from '../../../host/watch/limits.js';
import { rules } from '../../../host/watch/rules.js';
import { blind, measures } from '../../../host/watch/seen.js';
import { WatchedBench, hotAt, hotLost } from './bench.js';
import type { Shown } from './bench.js';

const stopped: Shown = { shaft: { state: 'stopped', speed_rpm: 0 } };
const dry = (age_s: number): Shown => ({ flow: { pulse_rate_Hz: 1 / age_s, pulse_age_s: age_s } });
const water = (t_in: number, t_out: number): Shown => ({ coolant_in: measures(t_in), coolant_out: measures(t_out) });

/** What it shows for a while, and what that tells: nothing, or a rule with its level. */
const cases: readonly (readonly [says: string, shown: Shown, seconds: number, told: string | null])[] = [
  ['an engine that runs well', {}, 60, null],
  ['a hot end below its limit', hotAt(499), 60, null],
  ['a hot end at its limit', hotAt(500), 1, 'hot_end raised warn'],
  ['a hot end above its second limit', hotAt(551), 1, 'hot_end raised alarm'],
  ['coolant out at its limit', water(40, 45), 1, 'coolant_out raised warn'],
  ['coolant out above its second limit', water(50, 60), 1, 'coolant_out raised alarm'],
  ['a rise below its limit', water(18, 32.9), 60, null],
  ['a rise above its limit', water(18, 34), 1, 'coolant_rise raised warn'],
  ['a rise above its second limit', water(10, 36), 1, 'coolant_rise raised alarm'],
  ['a pulse that is a little late', dry(1.5), 60, null],
  ['no pulse for some seconds', dry(2.5), 1, 'no_flow raised warn'],
  ['no pulse for longer', dry(4.5), 1, 'no_flow raised alarm'],
  ['no pulse with a cold engine', { ...dry(60), ...hotAt(60) }, 60, null],
  ['a fast shaft', { shaft: { state: 'turning', speed_rpm: 2500 } }, 1, 'over_speed raised warn'],
  ['a shaft that runs away', { shaft: { state: 'turning', speed_rpm: 3000 } }, 1, 'over_speed raised alarm'],
  ['a shaft that stops, very hot', stopped, 1, 'stall_hot raised alarm'],
  ['a shaft that stops, hot, and cools no more', { ...stopped, ...hotAt(200) }, 20, 'stall_hot raised warn'],
  ['a shaft that stops, warm', { ...stopped, ...hotAt(120) }, 60, null],
  ['a shaft that slows under load', { shaft: { state: 'slowing', speed_rpm: 300 } }, 60, null],
  ['an edge that is overdue by far', { shaft: { state: 'slowing', speed_rpm: 100 } }, 1, 'stall_hot raised alarm'],
  ['an open couple', hotLost(), 1, 'hot_sensor raised alarm'],
  ['coolant out pulled off', { coolant_out: blind('at the end of its range') }, 1, 'coolant_out_sensor raised alarm'],
  ['coolant in pulled off', { coolant_in: blind('at the end of its range') }, 1, 'coolant_in_sensor raised warn'],
  ['the skin thermistor pulled off', { skin: blind('at the end of its range') }, 1, 'skin_sensor raised warn'],
  ['a load cell that is silent', { load: blind('no conversion comes') }, 1, 'load_cell raised warn'],
  ['nothing said of the flow', { flow: null }, 1, 'flow_sensor raised alarm'],
  ['a board that falls silent', { silent_s: 1 }, 1, 'board_silent raised alarm'],
  ['a cable that is pulled', { down: 'the port is gone' }, 1, 'board_silent raised alarm'],
  ['a full disk', { record: { state: 'held', reason: 'Nothing is being recorded (the disk is full): free some space.' } }, 4, 'record raised alarm'],
  ['another program that writes for a second', { record: { state: 'held', reason: 'busy' } }, 1, null],
  ['a disk that is nearly full', { record: { state: 'low', reason: 'Only 40 MB are free on the disk of the record: free some space.' } }, 4, 'record raised warn'],
  ['a couple the wrong way round', { hot: { ...measures(-30), junction_C: 25 } }, 1, 'couple_poles raised warn'],
  ['coolant out below in by the doubt of two sensors', water(20, 18.5), 60, null],
  ['coolant out far below in', water(24, 18), 25, 'coolant_swapped raised warn'],
  ['a torque below nothing', { torque: { Nm: -0.005, U95_Nm: 0.0005 } }, 6, 'torque_sign raised warn'],
  ['a torque that may be nothing', { torque: { Nm: -0.0008, U95_Nm: 0.0005 } }, 60, null],
  ['a torque below nothing at a standstill', { torque: { Nm: -0.005, U95_Nm: 0.0005 }, ...stopped, ...hotAt(30) }, 60, null],
];

describe('what the watch judges', () => {
  it.each(cases)('%s', (_says, shown, seconds, told) => {
    const bench = new WatchedBench();
    expect(bench.for(5)).toEqual([]);
    expect(bench.for(seconds, shown)).toEqual(told === null ? [] : [told]);
    const [first] = bench.view.alarms;
    if (told === null) expect(first).toBeUndefined();
    else {
      expect(bench.view.urgent).toBe(first?.says);
      expect(first?.says).toMatch(/^[A-Z0-9].{30,}/);
      expect(bench.view.sound).toEqual({ cause: first?.cause, level: first?.level });
    }
  });

  it('has a case for every rule', () => {
    expect(rules.map((r) => r.name).filter((name) => !cases.some(([, , , told]) => told?.startsWith(`${name} `)))).toEqual([]);
  });

  it('tells what it cannot watch, and that a sensor which never worked is none that was lost', () => {
    const bench = new WatchedBench();
    expect(bench.for(30, { ...hotLost('no converter answers'), flow: null, shaft: null, skin: blind('not wired') })).toEqual([]);
    expect(bench.view.blind.map((b) => b.name)).toEqual(['over_speed', 'hot_end', 'no_flow', 'stall_hot']);
    expect(bench.view.blind[1]?.why).toBe('no converter answers');
  });

  it('takes a hot end that is not measured any more for as hot as it was', () => {
    const bench = new WatchedBench();
    bench.for(5);
    bench.for(1, hotLost());
    expect(bench.for(1, { ...hotLost(), ...dry(6) })).toEqual(['no_flow raised alarm']);
    expect(bench.for(1, { ...hotLost(), ...dry(8), ...stopped })).toEqual(['stall_hot raised alarm']);
    expect(bench.view.states).toMatchObject([{ name: 'still_hot', says: 'The hot end was at 350 C when it was last measured: take it for hot.' }]);
  });

  it('says that it is still hot until it is below 45 C', () => {
    const bench = new WatchedBench();
    bench.for(5);
    expect(bench.view.states).toEqual([]);
    bench.for(1, { ...stopped, ...hotAt(46) });
    expect(bench.view.states[0]?.says).toMatch(/^Still hot: the hot end is at 46 C/);
    expect(bench.view.urgent).toBe(bench.view.states[0]?.says);
    bench.for(1, { ...stopped, ...hotAt(44) });
    expect(bench.view.states).toEqual([]);
  });

  it('keeps the rate that the meter had in mind while no pulse comes, whatever the rounding', () => {
    for (let k = 0; k < 40; k++) {
      const bench = new WatchedBench();
      bench.for(5);
      const told: string[] = [];
      for (let age_s = 0.2 + k / 997; age_s < 5; age_s += 0.2) told.push(...bench.for(0.2, dry(age_s)));
      expect(told).toEqual(['no_flow raised warn', 'no_flow rose alarm']);
    }
  });

  it('is not told of a stall while an engine is heated that never ran', () => {
    const bench = new WatchedBench();
    expect(bench.for(60, { ...stopped, ...hotAt(400) })).toEqual([]);
  });

  /** The hot end with so many kelvins a second. @returns what is told meanwhile, and how hot it is then */
  const ramp = (bench: WatchedBench, from_C: number, rate_K_s: number, seconds: number, shown: Shown): { told: string[]; hot_C: number } => {
    const told: string[] = [];
    let hot_C = from_C;
    for (let t_s = 0; t_s < seconds; t_s += 0.2) {
      hot_C += 0.2 * rate_K_s;
      // In steps of the converter.
      told.push(...bench.for(0.2, { ...shown, ...hotAt(Math.round(4 * hot_C) / 4) }));
    }
    return { told, hot_C };
  };

  it.each([0.15, 0.5, 1.2])('lets an engine be stopped whose heat was taken away, and that cools by %s K/s', (rate_K_s) => {
    const bench = new WatchedBench();
    bench.for(5);
    const { told, hot_C } = ramp(bench, 350, -rate_K_s, 40, {});
    expect(told).toEqual([]);
    expect(ramp(bench, hot_C, -rate_K_s, 120, stopped).told).toEqual([]);
    expect(bench.view.states.map((s) => s.name)).toEqual(['still_hot']);
  });

  it('tells within seconds of one that stalls under its heat, though it cooled before', () => {
    const bench = new WatchedBench();
    bench.for(5);
    const { hot_C } = ramp(bench, 350, -0.5, 40, {});
    const { told } = ramp(bench, hot_C, 0.5, 4, stopped);
    expect(told).toEqual(['stall_hot raised alarm']);
  });

  it('tells of one that stands and no longer cools, since something heats it', () => {
    const bench = new WatchedBench();
    bench.for(5);
    const cooling = ramp(bench, 350, -0.5, 40, {});
    const standing = ramp(bench, cooling.hot_C, -0.5, 40, stopped);
    expect([...cooling.told, ...standing.told]).toEqual([]);
    expect(ramp(bench, standing.hot_C, 0, 30, stopped).told).toEqual(['stall_hot raised alarm']);
  });
});

describe('limits', () => {
  it('have presets within what they may be, each with a source', () => {
    expect(changedLimits(limitsOf(), Object.fromEntries(Object.entries(limitRows).map(([n, r]) => [n, r.preset])))).toEqual(limitsOf());
    for (const row of Object.values(limitRows)) expect(row.source).not.toBe('');
  });

  it('are changed as told, back to the preset by null, and the wrong refused', () => {
    const changed = changedLimits(limitsOf(), { hot_warn_C: 300, hot_alarm_C: 320 });
    expect(changed).toMatchObject({ hot_warn_C: 300, hot_alarm_C: 320 });
    expect(changedLimits(changed, { hot_alarm_C: null, hot_warn_C: null })).toEqual(limitsOf());
    expect(() => changedLimits(limitsOf(), { hot_alarm_C: 300 })).toThrow('hot_warn_C is 500 C: it must be at most hot_alarm_C, which is 300 C');
    expect(() => changedLimits(limitsOf(), { coolant_out_alarm_C: 120 })).toThrow('from 15 to 99');
    expect(() => changedLimits(limitsOf(), { hot: 3 })).toThrow('The watch has no limit hot');
  });
});

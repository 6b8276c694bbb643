import { afterAll, afterEach, beforeEach, describe, expect, it } from 'vitest';

import { stored } from '../../../host/sense/calibration/model.js';
import type { LoadModel, ThermistorModel } from '../../../host/sense/calibration/model.js';
import { hotModel } from '../../../host/sense/thermal/hot_model.js';
import type { LiveEvent, ValuesView } from '../../../host/serve/bench.js';
import { LiveBench } from '../../../host/serve/live.js';
import { metricsText } from '../../../host/serve/metrics.js';
import { openStore } from '../../../host/store/open.js';
import type { Store } from '../../../host/store/store.js';
import { HandClock } from '../../support/hand_clock.js';
import { draft, flowModel, loadModel } from '../store/support/kept.js';
import { TICK_Hz, edge, flow, force, helloOf, hot, piece, scratch, water } from '../store/support/board.js';

const place = scratch();
afterAll(() => place.remove());
let files = 0;

const noise = { source: stored({ id: 'cal: load test', says: 'test', kind: 'systematic', shape: 'normal', dof: Infinity }), c_u: [0, 2500] };
const line = (counts_per_Nm: number, more: Partial<LoadModel> = {}): LoadModel => loadModel([8000, counts_per_Nm, 0], { sources: [noise], ...more });
/** Beta 3950 from 10 kohm at 25 C, in the form of a Steinhart-Hart curve. */
const thermistor: ThermistorModel = {
  kind: 'beta', coefficients: [1 / 298.15 - Math.log(10_000) / 3950, 1 / 3950, 0, 0], sources: [], fixed_ohm: 10_000, fixed_to: 'supply', range_C: [0, 100], errors: [],
};
/** 25 C at both. */
const GOOD = 0x01901900;

describe('values in SI, live', () => {
  let clock: HandClock;
  let store: Store;
  let live: LiveBench;
  let boot_id: number;
  let events: LiveEvent[];
  let count: number;

  beforeEach(() => {
    clock = new HandClock();
    store = openStore(place.path(`${files++}.db`), { clock });
    live = new LiveBench({ store, clock, version: '0.1.0' });
    events = [];
    live.subscribe((event) => events.push(event));
    count = 10_000;
    const boot = store.bootFor({ hello: helloOf({ tick: 0 }), simulated: true });
    ({ boot_id } = boot);
    store.setMagnets(boot.hello.board_id, 2);
    live.boot(boot);
    live.state('live', 'live');
    live.clockMap(piece(boot_id, 0, clock.wall_us(), 0.5, 40));
  });
  afterEach(() => {
    live.close();
    store.close();
  });

  const now = (): number => Math.round((clock.monotonic_us() / 1e6) * TICK_Hz);
  /** Eighty conversions a second, two edges a revolution of 100 ms if it turns, four messages of the slow streams; the twin of a bench that stirs by a count. */
  const run = (seconds: number, turns = true): void => {
    for (let i = 0; i < seconds * 80; i++) {
      clock.advance(12_500);
      live.message(force(boot_id, now(), count + (i % 3) - 1));
      if (turns && i % 4 === 0) live.message(edge(boot_id, now()));
      if (i % 20 !== 0) continue;
      live.message(hot(boot_id, now(), GOOD));
      live.message(water(boot_id, now(), { in_sum: 32_768 + (i % 3), out_sum: 30_000, in_spread: 4, out_spread: 4 }));
      live.message(flow(boot_id, now(), now() - 100, 50 + i));
    }
  };
  const values = (): ValuesView => {
    const { values: v } = live.latest();
    if (v === null) throw new Error('no values');
    return v;
  };
  const keepZero = (at_count = 8000): void => {
    store.records.zeros.keep({ rig_id: 1, boot_id, tick: now(), tick_from: now() - 100, tick_to: now(), count: at_count, u_count: 0.5, n: 100, remark: '', author: 'tester' });
  };
  const keepCheck = (passed: boolean | null, cal_id: number): void => {
    store.records.zeros.keepCheck({
      rig_id: 1, boot_id, tick: now(), tick_from: now(), tick_to: now(), count: 1, u_count: 1, n: 9, nominal_kg: 0.1, cal_id, expected: 1, read: 1, unit: 'Nm', passed, remark: '', author: 'tester',
    });
  };

  it('are not there before a board, and uncalibrated before a calibration, while speed and hot end are told', () => {
    run(3);
    expect(values()).toMatchObject({
      torque_Nm: { state: 'uncalibrated', value: null, u: null, U95: null, reason: 'the load cell is not calibrated' },
      power_W: { state: 'uncalibrated', value: null },
      coolant_in_C: { state: 'uncalibrated', value: null },
      coolant_heat_W: { state: 'uncalibrated', value: null },
      flow_Lpmin: { state: 'uncalibrated', value: null },
      hot_C: { state: 'unverified', reason: 'no couple is named: a type K of class 2 is taken' },
    });
    expect(values().speed_rpm).toMatchObject({ state: 'measured', reason: null });
    expect(values().speed_rpm.value).toBeCloseTo(600, 6);
    // 1e-4 of the crystal, as limits, before the map knows its rate: U95 is 0.95 of them.
    expect(values().speed_rpm.U95).toBeCloseTo(0.95 * 0.06, 3);
    expect(values().hot_C.value).toBeCloseTo(25, 0);
    live.state('waiting', 'unplugged');
    expect(live.latest().values).toBeNull();
    expect(events.filter((e) => e.channel === 'values').at(-1)?.value).toBeNull();
  });

  it('are torque, power and their doubt with calibration, zero and check mass, and say what is missing without', () => {
    run(2);
    const { cal_id } = store.records.calibrations.keep(draft({ model: line(500_000) }));
    run(1);
    expect(values().torque_Nm).toMatchObject({ state: 'not_measured', value: null, reason: 'no zero was taken: take one with nothing on the arm' });
    keepZero();
    run(1);
    expect(values().torque_Nm).toMatchObject({ state: 'unverified', reason: 'no check mass in the last 24 h' });
    keepCheck(false, cal_id);
    run(1);
    expect(values().torque_Nm.reason).toBe('the last check mass did not pass');
    keepCheck(true, cal_id);
    run(1);
    const { torque_Nm, power_W, force_N } = values();
    expect(torque_Nm).toMatchObject({ state: 'measured', reason: null });
    expect(torque_Nm.value).toBeCloseTo(2000 / 500_000, 6);
    // Half a per cent of slope is the greatest doubt.
    expect(torque_Nm.u).toBeGreaterThan(0.004 * 0.005);
    expect(torque_Nm.U95).toBeGreaterThan(1.9 * (torque_Nm.u ?? 1));
    expect(power_W.value).toBeCloseTo((2000 / 500_000) * ((2 * Math.PI * 600) / 60), 4);
    expect(power_W.state).toBe('measured');
    expect(force_N).toMatchObject({ state: 'not_measured', reason: 'the calibration is of torque in place' });
    const metrics = metricsText(live.metrics());
    expect(metrics).toMatch(/^smallbrake_torque_newton_metres\{of="value"\} 0\.00[34]/m);
    expect(metrics).toMatch(/^smallbrake_torque_newton_metres\{of="U95"\}/m);
    expect(metrics).toMatch(/^smallbrake_edges_judged_total\{mark="good"\} \d+/m);
    // Nobody vouches for the couple.
    expect(metrics).not.toMatch(/smallbrake_hot_celsius/);
  });

  it('take a corrected calibration at once, and the force of one at the cell', () => {
    run(1);
    const first = store.records.calibrations.keep(draft({ model: line(500_000) }));
    keepZero();
    run(2);
    expect(values().torque_Nm.value).toBeCloseTo(0.004, 6);
    store.records.calibrations.keep(draft({ model: line(400_000, { kind: 'force', unit: 'N', arm_m: 0.05, u_arm_m: 0.0002 }), replaces: first.cal_id }));
    run(0.5);
    // The zero was taken before, and holds where this calibration does.
    expect(values().force_N.value).toBeCloseTo(0.005, 6);
    expect(values().torque_Nm.value).toBeCloseTo(0.005 * 0.05, 8);
  });

  it('of a shaft that stands are torque over the last second, speed 0 with its limit, and no power from before', () => {
    store.records.calibrations.keep(draft({ model: line(500_000) }));
    run(1);
    keepZero();
    run(2);
    run(2, false);
    expect(values().speed_rpm).toMatchObject({ state: 'not_measured', value: null });
    expect(values().power_W).toMatchObject({ state: 'not_measured', value: null });
    count = 12_000;
    run(8, false);
    expect(values().torque_Nm.value).toBeCloseTo(0.008, 6);
    expect(values().speed_rpm).toMatchObject({ state: 'measured', value: 0 });
    expect(values().power_W).toMatchObject({ value: 0 });
  });

  it('are coolant, flow and heat as the models have them, and not measured once their messages stop', () => {
    const keep = store.records.calibrations;
    keep.keep(draft({ channel: 'coolant_in', model: thermistor }));
    keep.keep(draft({ channel: 'coolant_out', model: thermistor }));
    keep.keep(draft({ channel: 'flow', model: flowModel(0.5) }));
    keep.keep(draft({ channel: 'hot', model: hotModel(1) }));
    run(4);
    const v = values();
    expect(v.hot_C).toMatchObject({ state: 'measured', reason: null });
    expect(v.coolant_in_C.value).toBeCloseTo(25, 1);
    expect(v.coolant_difference_K).toMatchObject({ state: 'unverified', reason: 'the two coolant sensors were not matched' });
    expect(v.coolant_difference_K.value).toBeCloseTo((v.coolant_out_C.value ?? 0) - (v.coolant_in_C.value ?? 0), 9);
    expect(v.flow_Lpmin).toMatchObject({ state: 'unverified', value: 0.5 });
    // 0.5 L/min takes up 34.7 W a kelvin.
    expect((v.coolant_heat_W.value ?? 0) / (v.coolant_difference_K.value ?? 1)).toBeCloseTo(34.7, 1);
    expect(v.coolant_heat_W.reason).toBe('the flow is that of the bucket, not seen now; the two coolant sensors were not matched');
    clock.advance(5e6);
    expect(values()).toMatchObject({ hot_C: { state: 'not_measured', value: null }, coolant_in_C: { state: 'not_measured' }, coolant_heat_W: { value: null } });
  });

  it('come twice a second to who listens, and cost nothing where nobody does', () => {
    run(2);
    events.length = 0;
    run(4);
    const told = events.filter((e) => e.channel === 'values').length;
    expect(told).toBeGreaterThanOrEqual(7);
    expect(told).toBeLessThanOrEqual(9);
    let asked = 0;
    const real = store.records.calibrations.at.bind(store.records.calibrations);
    store.records.calibrations.at = (...args) => (asked++, real(...args));
    live.close();
    run(2);
    expect(asked).toBe(0);
  });

  it('are all without a number, with the reason, where the record is damaged', () => {
    run(2);
    store.records.calibrations.at = () => {
      throw new Error('no JSON');
    };
    run(1);
    expect(values().torque_Nm).toMatchObject({ state: 'not_measured', value: null, reason: 'no JSON' });
  });
});

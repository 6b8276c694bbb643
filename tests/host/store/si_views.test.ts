import { execFileSync } from 'node:child_process';
import Database from 'better-sqlite3';
import fc from 'fast-check';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';

import type { FlowModel, HotModel, LoadModel, MatchModel, ThermistorModel } from '../../../host/sense/calibration/model.js';
import { FlowRate } from '../../../host/sense/flow.js';
import { loadReading } from '../../../host/sense/load/reading.js';
import { zeroAt } from '../../../host/sense/load/zero.js';
import { sheetOf } from '../../../host/sense/sheet.js';
import { coolantDifference } from '../../../host/sense/thermal/coolant_difference.js';
import { flowQuantity } from '../../../host/sense/thermal/flow_rate.js';
import { CONVERTER_SLOPE_mV_K } from '../../../host/sense/thermal/hot_model.js';
import { hotTemperature } from '../../../host/sense/thermal/hot_temperature.js';
import { openStore } from '../../../host/store/open.js';
import type { Store } from '../../../host/store/store.js';
import { HandClock } from '../../support/hand_clock.js';
import { needTool } from '../../support/need.js';
import { TICK_Hz, flow, force, helloOf, hot, piece, scratch, water } from './support/board.js';
import { at, draft, loadModel } from './support/kept.js';

const place = scratch();
afterAll(() => place.remove());
const there = needTool('sqlite3', 'sqlite3', 'SI views read by plain sqlite3');
const sheet = sheetOf();
const begin_us = Date.UTC(2026, 0, 15, 9) * 1000;
let files = 0;

interface Bench {
  readonly store: Store;
  readonly path: string;
  rows(sql: string): Record<string, number | string | null>[];
  /** Another rig with two boots: the first from 9:00:00 by a clock of exactly 0.5 us a tick, the second an hour later. */
  rig(): { readonly rig_id: number; readonly boots: readonly [number, number] };
  close(): void;
}

/** With rig 1, boots 1 and 2. */
function bench(): Bench {
  const path = place.path(`si${files++}.db`);
  const store = openStore(path, { clock: new HandClock(begin_us) });
  let rigs = 0;
  const rig: Bench['rig'] = () => {
    const rig_id = ++rigs;
    const [first = 0, second = 0] = [1, 2].map((boot_count) => {
      const { boot_id } = store.bootFor({ hello: helloOf({ tick: 0, boot_count, board_id: rig_id }), simulated: true, reset: true });
      store.writer.mapPiece(piece(boot_id, 0, begin_us + (boot_count - 1) * 3600e6));
      return boot_id;
    });
    // A zero is dated by what is known of the clock when it is kept.
    store.writer.flush();
    return { rig_id, boots: [first, second] };
  };
  rig();
  const db = new Database(path, { readonly: true });
  return {
    store,
    path,
    rig,
    rows: (sql) => {
      store.writer.flush();
      return db.prepare<[], Record<string, number | string | null>>(sql).all();
    },
    close: () => {
      db.close();
      store.close();
    },
  };
}

const t_s = (second: number, { boot_id, tick }: { boot_id: number; tick: number }): number => (boot_id === second ? 3600 : 0) + tick / TICK_Hz;
const real = (min: number, max: number): fc.Arbitrary<number> => fc.double({ min, max, noNaN: true });
const near = (found: unknown, wanted: number, within: number): void => {
  expect(typeof found).toBe('number');
  expect(Math.abs(Number(found) - wanted)).toBeLessThanOrEqual(within);
};

describe('SI views', () => {
  it('torque and force are what the program reads, with any zeros and any curve', () => {
    const models = fc.record({ c0: real(-5e4, 5e4), c1: real(1e5, 2e6), sign: fc.constantFrom(1, -1), bend: real(-0.2, 0.2), force: fc.boolean(), arm_m: real(0.02, 0.2) });
    const zeros = fc.uniqueArray(fc.record({ boot_id: fc.integer({ min: 1, max: 2 }), s: fc.integer({ min: 0, max: 3000 }), off: fc.integer({ min: -500, max: 500 }) }), { maxLength: 4, selector: (z) => `${z.boot_id} ${z.s}` });
    const samples = fc.array(fc.record({ boot_id: fc.integer({ min: 1, max: 2 }), s: fc.integer({ min: 0, max: 3000 }), x: real(-0.02, 0.24) }), { minLength: 3, maxLength: 8 });
    let compared = 0;
    const b = bench();
    fc.assert(
      fc.property(models, zeros, samples, ({ c0, c1, sign, bend, force: byForce, arm_m }, taken, read) => {
          const { rig_id, boots } = b.rig();
          const bootOf = (n: number): number => boots[n - 1] ?? 0;
          const c2 = (sign * bend * c1) / 0.2;
          const model: LoadModel = loadModel([c0, sign * c1, c2], byForce ? { kind: 'force', unit: 'N', arm_m, u_arm_m: 0 } : {});
          const { cal_id } = b.store.records.calibrations.keep(draft({ rig_id, from: at(boots[0], 0), model }));
          for (const z of taken) {
            const tick = z.s * TICK_Hz + 7;
            b.store.records.zeros.keep({ rig_id, boot_id: bootOf(z.boot_id), tick, tick_from: tick, tick_to: tick, count: c0 + z.off, u_count: 1, n: 100, author: '', remark: '' });
          }
          for (const s of read) b.store.writer.message(force(bootOf(s.boot_id), s.s * TICK_Hz, Math.round(c0 + sign * c1 * s.x + c2 * s.x * s.x)));
          for (const row of b.rows(`SELECT * FROM torque WHERE boot_id IN (${boots.join()})`)) {
            const where = { boot_id: Number(row['boot_id']), tick: Number(row['tick']) };
            const { before, after } = b.store.records.loadAt(rig_id, where);
            const known = [before, after].flatMap((z) => (z === null ? [] : [{ id: `${z.zero_id}`, t_s: t_s(boots[1], z), count: z.count, u_count: 1 }]));
            const zero = zeroAt(known, t_s(boots[1], where), model, sheet);
            expect([row['zero_before'], row['zero_after'], row['cal_id']]).toEqual([before?.zero_id ?? null, after?.zero_id ?? null, cal_id]);
            expect(row['verified']).toBe(zero?.enclosed === true ? 1 : 0);
            if (zero === null) {
              expect(row['zero_source']).toBe('calibration');
            near(row['zero_count'], c0, 1e-9);
              continue;
            }
            near(row['zero_count'], zero.zero.value, 1e-6);
            const said = loadReading({ id: 'x', count: Number(row['count']), u_count: 1, dof: 50 }, zero, model);
            expect(row['reason']).toBe(said.state === 'read' ? null : 'beyond');
            if (said.torque === null) continue;
            near(row['torque_Nm'], said.torque.value, 1e-10);
            if (byForce) near(row['force_N'], said.force?.value ?? NaN, 1e-10);
            else expect(row['force_N']).toBeNull();
            const x = byForce ? (said.force?.value ?? NaN) : said.torque.value;
            if (Math.min(Math.abs(x), Math.abs(x - 0.2)) > 1e-9) expect(row['extrapolated']).toBe(said.extrapolated ? 1 : 0);
            compared++;
          }
      }),
      { seed: 11, numRuns: 60, endOnFailure: true },
    );
    b.close();
    expect(compared).toBeGreaterThan(40);
  });

  it('the hot end is what the program reads to a microkelvin, over the whole range', () => {
    const b = bench();
    const model: HotModel = { kind: 'type_k', slope_mV_K: CONVERTER_SLOPE_mV_K, iec60584_class: 2, coefficients: [1.25, -0.004], sources: [], errors: [] };
    b.store.records.calibrations.keep(draft({ channel: 'hot', model }));
    const words: number[] = [0, 0xffffffff, 0x01900191];
    for (let couple = -400; couple < 5600; couple += 37) for (const junction of [-600, 0, 333, 1980]) words.push((((couple & 0x3fff) << 18) | ((junction & 0xfff) << 4)) >>> 0);
    for (const [i, word] of words.entries()) b.store.writer.message(hot(1, i * 1000, word));
    let compared = 0;
    for (const [i, row] of b.rows('SELECT * FROM hot_end ORDER BY tick').entries()) {
      const said = hotTemperature([{ t_s: 0, word: words[i] ?? 0 }], model, sheet, { rig: 'r', couple: 'c', span: 's' });
      expect(row['reason']).toBe(said.state === 'read' ? null : said.state);
      if (said.quantity === null) expect(row['hot_end_C']).toBeNull();
      else {
        near(row['hot_end_C'], said.quantity.value, 1e-6);
        compared++;
      }
    }
    expect(compared).toBeGreaterThan(400);
    b.close();
  });

  it('coolant and its difference are what the program reads, by any curve and divider', () => {
    const curve = fc.record({ R25_ohm: real(2000, 50_000), beta_K: real(3000, 4500), c2: real(-1e-6, 1e-6), c3: real(-1e-8, 1e-8), fixed_ohm: real(2000, 50_000), fixed_to: fc.constantFrom('supply' as const, 'ground' as const) });
    const model = (c: { R25_ohm: number; beta_K: number; c2: number; c3: number; fixed_ohm: number; fixed_to: 'supply' | 'ground' }): ThermistorModel => ({
      kind: 'table', coefficients: [1 / 298.15 - Math.log(c.R25_ohm) / c.beta_K, 1 / c.beta_K, c.c2, c.c3], sources: [], errors: [], fixed_ohm: c.fixed_ohm, fixed_to: c.fixed_to, range_C: [-5, 105],
    });
    let compared = 0;
    const b = bench();
    fc.assert(
      fc.property(curve, curve, fc.option(real(-0.5, 0.5)), fc.array(fc.tuple(fc.integer({ min: 0, max: 65_472 }), fc.integer({ min: 0, max: 65_472 })), { minLength: 4, maxLength: 10 }), (first, second, c0, sums) => {
          const { rig_id, boots } = b.rig();
          const from = at(boots[0], 0);
          const models = { in: model(first), out: model(second) };
          const match: MatchModel | null = c0 === null ? null : { kind: 'isothermal', coefficients: [c0], sources: [], at_C: 20, errors: [] };
          b.store.records.calibrations.keep(draft({ rig_id, from, channel: 'coolant_in', model: models.in }));
          b.store.records.calibrations.keep(draft({ rig_id, from, channel: 'coolant_out', model: models.out }));
          if (match !== null) b.store.records.calibrations.keep(draft({ rig_id, from, channel: 'coolant_match', model: match }));
          for (const [i, [in_sum, out_sum]] of sums.entries()) b.store.writer.message(water(boots[0], i * 1000, { in_sum, out_sum }));
          for (const [i, row] of b.rows(`SELECT * FROM coolant WHERE boot_id = ${boots[0]} ORDER BY tick`).entries()) {
            const [in_sum = 0, out_sum = 0] = sums[i] ?? [];
            const said = coolantDifference([{ in: { sum: in_sum, spread: 3 }, out: { sum: out_sum, spread: 3 } }], models, match, sheet, { rig: 'r', type: 't', span: 's' });
            expect(row['skin_reason']).toBe('no_calibration');
            expect(row['match_id'] === null).toBe(match === null);
            const bad = row['in_reason'] ?? row['out_reason'];
            expect(bad).toBe(said.state === 'read' ? null : said.state);
            if (said.quantity === null || said.mean_C === null) expect(row['difference_K']).toBeNull();
            else {
              near(row['difference_K'], said.quantity.value, 1e-9);
              near((Number(row['in_C']) + Number(row['out_C'])) / 2, said.mean_C.value, 1e-9);
              compared++;
            }
          }
      }),
      { seed: 12, numRuns: 40, endOnFailure: true },
    );
    b.close();
    expect(compared).toBeGreaterThan(25);
  });

  it('coolant flow is what the program reads, by pulses or by bucket', () => {
    for (const model of [
      { kind: 'pulses', coefficients: [0.02, 0.11, 0.003], sources: [], f_range_Hz: [1, 4], errors: [] },
      { kind: 'fixed', coefficients: [0.7], sources: [], f_range_Hz: null, errors: [] },
    ] as FlowModel[]) {
      const b = bench();
      b.store.records.calibrations.keep(draft({ channel: 'flow', model }));
      const rate = new FlowRate(0.5);
      const said: ReturnType<typeof flowQuantity>[] = [];
      let pulses = 0;
      let pulse_tick = 0;
      for (let i = 1; i < 160; i++) {
        const tick = i * TICK_Hz * 0.25;
        // Slow, then within, then beyond what was tried, then none.
        const period_s = i < 40 ? 2.5 : i < 70 ? 0.5 : i < 90 ? 0.2 : 1e9;
        while (pulse_tick + period_s * TICK_Hz <= tick) {
          pulse_tick += period_s * TICK_Hz;
          pulses++;
        }
        b.store.writer.message(flow(1, tick, pulse_tick, pulses));
        rate.message(tick, { pulse_tick: pulses === 0 ? null : pulse_tick, pulses });
        said.push(flowQuantity([rate.at(tick)], model, 's'));
      }
      const states = new Set<unknown>();
      for (const [i, row] of b.rows('SELECT * FROM coolant_flow ORDER BY tick').entries()) {
        const one = said[i];
        if (one === undefined) throw new Error('a row too many');
        states.add(row['reason']);
        const reason = { flowing: null, fixed: null, beyond: null, not_measured: 'no_pulses', untimed: 'no_pulses', none: 'no_pulses', slowing: 'slowing', stopped: 'stopped', below: 'below' }[one.state];
        expect([row['tick'], row['reason']]).toEqual([row['tick'], reason]);
        if (one.quantity === null) expect(row['flow_Lpmin']).toBeNull();
        else near(row['flow_Lpmin'], one.quantity.value, 1e-12);
        if (one.state === 'beyond') expect(row['extrapolated']).toBe(1);
      }
      expect([...states].sort()).toEqual(model.kind === 'fixed' ? [null] : ['below', null, 'no_pulses', 'slowing', 'stopped'].sort());
      b.close();
    }
  });

  describe.skipIf(!there)('by plain sqlite3', () => {
    let b: Bench;
    beforeAll(() => {
      b = bench();
      const { calibrations, zeros, told } = b.store.records;
      b.store.writer.message(force(1, 5 * TICK_Hz, 58_000));
      b.store.writer.message(force(1, 6 * TICK_Hz, 58_000, 4));
      b.store.writer.message(force(2, TICK_Hz, 58_000));
      b.store.writer.message(hot(1, 5 * TICK_Hz, 0x01900190));
      b.store.writer.message(water(1, 5 * TICK_Hz));
      calibrations.keep(draft({ to: at(1, 10 * TICK_Hz) }));
      const zero = (s: number, count: number): void => void zeros.keep({ rig_id: 1, boot_id: 1, tick: s * TICK_Hz, tick_from: 0, tick_to: 9 * TICK_Hz, count, u_count: 1, n: 80, author: 'a', remark: '' });
      zero(1, 8000);
      zero(9, 8008);
      told.enter({ rig_id: 1, name: 'heater_V', value: 12, u: 0.1, unit: 'V', utc_us: begin_us, boot_id: 1, tick: 0, author: 'a', remark: '' });
      b.store.writer.flush();
    });
    afterAll(() => b.close());
    const ask = (sql: string): unknown => JSON.parse(execFileSync('sqlite3', ['-readonly', '-json', b.path, sql], { encoding: 'utf8' }));

    it('says the value where there is one, and else why not', () => {
      expect(ask('SELECT tick, round(torque_Nm, 9) AS torque_Nm, zero_count, zero_source, verified, reason, simulated FROM torque ORDER BY boot_id, tick')).toEqual([
        { tick: 5 * TICK_Hz, torque_Nm: (58_000 - 8004) / 500_000, zero_count: 8004, zero_source: 'between', verified: 1, reason: null, simulated: 1 },
        { tick: 6 * TICK_Hz, torque_Nm: null, zero_count: 8005, zero_source: 'between', verified: 1, reason: 'saturated', simulated: 1 },
        { tick: TICK_Hz, torque_Nm: null, zero_count: null, zero_source: null, verified: 0, reason: 'no_calibration', simulated: 1 },
      ]);
      expect(ask('SELECT hot_end_C, reason FROM hot_end')).toEqual([{ hot_end_C: null, reason: 'no_calibration' }]);
      expect(ask('SELECT difference_K, in_reason FROM coolant')).toEqual([{ difference_K: null, in_reason: 'no_calibration' }]);
      expect(ask('SELECT name, value, u, unit, age_h > 0 AS past FROM entered_now')).toMatchObject([{ name: 'heater_V', value: 12, u: 0.1, unit: 'V' }]);
      expect(ask('SELECT cal_id, in_force, from_t FROM calibrations')).toEqual([{ cal_id: 1, in_force: 0, from_t: '2026-01-15T09:00:00.000Z' }]);
    });

    it('agrees with the engine inside the program, digit for digit where both give a number', () => {
      b.store.records.calibrations.keep(draft({ channel: 'hot', model: { kind: 'type_k', slope_mV_K: CONVERTER_SLOPE_mV_K, iec60584_class: 1, coefficients: [0, 0], sources: [], errors: [] } }));
      const [other] = ask('SELECT hot_end_C FROM hot_end') as { hot_end_C: number }[];
      near(b.rows('SELECT hot_end_C FROM hot_end')[0]?.['hot_end_C'], other?.hot_end_C ?? NaN, 1e-9);
    });
  });
});

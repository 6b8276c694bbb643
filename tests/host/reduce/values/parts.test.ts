import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { trimmed } from '../../../../host/reduce/points/trim.js';
import type { Piece } from '../../../../host/reduce/points/pieces.js';
import { aliasing } from '../../../../host/reduce/values/aliasing.js';
import { quantityOf, enteredValues } from '../../../../host/reduce/values/entered_values.js';
import { soundForces } from '../../../../host/reduce/values/sound.js';
import { spanValues } from '../../../../host/reduce/values/span_values.js';
import { blocksOf, turnsOf, wholeTurns } from '../../../../host/reduce/values/turns.js';
import { u } from '../../../../host/sense/uncertainty/quantity.js';
import { markEdges } from '../../../../host/sense/wheel/batch.js';
import { seeded } from '../../../support/random.js';
import { knowledgeOf, spanOf, US_PER_TICK, zeroAtTick, checkAtTick, teaselWith, SamplesBench } from './support/twin.js';

describe('whole revolutions', () => {
  /** Edges of an uneven wheel at a constant speed. */
  const edgesOf = (magnets: number, turns: number, turn_ticks: number): Float64Array =>
    Float64Array.from({ length: magnets * turns + 1 }, (_, i) => 1000 + Math.floor(i / magnets) * turn_ticks + ((i % magnets) * turn_ticks * (1 + 0.1 * Math.sin(i % magnets))) / magnets);

  it('never begin or end within a turn, and blocks of them lose none', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 6 }), fc.integer({ min: 12, max: 80 }), fc.integer({ min: 60_000, max: 400_000 }), fc.integer({ min: 1, max: 12 }), fc.nat(5), (magnets, turns, turn_ticks, per, late) => {
        const ticks = edgesOf(magnets, turns, turn_ticks);
        const edges = markEdges(ticks, magnets, 0.5);
        const from = 1000 + late * turn_ticks;
        const runs = wholeTurns(edges, from, ticks.at(-1) ?? 0);
        for (const { tick, turns: n } of runs) for (let i = 1; i < tick.length; i++) expect(((tick[i] ?? 0) - (tick[0] ?? 0)) / (n[i] ?? 1)).toBeCloseTo(turn_ticks, 3);
        const blocks = blocksOf(runs, per).flat();
        expect(blocks.reduce((s, b) => s + b.turns, 0)).toBe(turnsOf(runs));
        for (const b of blocks) if (turnsOf(runs) >= per) expect(b.turns).toBeGreaterThanOrEqual(Math.min(per, turnsOf(runs)) / 2);
      }),
      { seed: 11 },
    );
  });
});

describe('sound conversions', () => {
  const next = seeded(3);
  const noise = (): number => Math.round(40 * (next() + next() + next() - 1.5));
  const columnsOf = (count: readonly number[], flags: readonly number[] = []) => ({ n: count.length, tick: Float64Array.from(count, (_, i) => i * 24_000), count: Int32Array.from(count), flags: Uint8Array.from(count, (_, i) => flags[i] ?? 0) });

  it('are all but up to three wild ones in a row, and a step of the load is none of them', () => {
    fc.assert(
      fc.property(fc.integer({ min: 20, max: 180 }), fc.integer({ min: 1, max: 3 }), fc.integer({ min: 5000, max: 1_000_000 }), fc.integer({ min: 300, max: 50_000 }), (at, wild, off, step) => {
        const count = Array.from({ length: 400 }, (_, i) => 10_000 + noise() + (i >= 300 ? step : 0) + (i >= at && i < at + wild ? off : 0));
        const { state, glitches, good } = soundForces(columnsOf(count));
        expect(state).toBe('read');
        expect(glitches).toBe(wild);
        for (let i = at; i < at + wild; i++) expect(good[i]).toBe(0);
      }),
      { seed: 12 },
    );
  });

  it('are none where the converter stands, is wild, or all is flagged', () => {
    expect(soundForces(columnsOf([])).state).toBe('none');
    expect(soundForces(columnsOf([1, 2, 3], [1, 1, 2])).reason).toBe('all 3 conversions are flagged');
    expect(soundForces(columnsOf([...Array.from({ length: 50 }, noise), ...new Array<number>(30).fill(77)])).state).toBe('stuck');
    expect(soundForces(columnsOf(Array.from({ length: 60 }, noise), Array.from({ length: 60 }, (_, i) => (i % 3 === 0 ? 2 : 0)))).state).toBe('wild');
  });
});

describe('aliasing', () => {
  it('is told where an order of the ripple meets the measured rate, and not beside it', () => {
    // 4 x 1246.8 rev/min is 83.12 Hz.
    expect(aliasing(83.12, 1246.8, 60).map((a) => [a.order, a.multiple])).toEqual([[4, 1], [8, 2]]);
    expect(aliasing(80, 1200.3, 60).find((a) => a.order === 4)?.beat_s).toBeCloseTo(50, 6);
    expect(aliasing(80, 1200.3, 60)[0]?.says).toContain('breathes with a period of 50 s');
    expect(aliasing(80, 1240, 60)).toEqual([]);
  });
});

describe('heat that was entered', () => {
  const entry = (name: string, value: number, age_s: number, u_value = 0.1) => ({ name, value, u: u_value, unit: '', age_s });

  it('is volts times amps, and fuel by two weighings', () => {
    expect(enteredValues([entry('heater_V', 12, 60), entry('heater_A', 10, 60)]).heater_W).toMatchObject({ state: 'measured', quantity: { value: 120 } });
    const fuel = enteredValues([entry('fuel_in_g', 300, 900), entry('fuel_out_g', 290, -900), entry('fuel_LHV_MJ_kg', 27, 1e6)]).fuel_W;
    // 10 g of 27 kJ/g in half an hour.
    expect(fuel.quantity?.value).toBeCloseTo(150, 9);
    expect(fuel.state).toBe('measured');
  });

  it('is unverified when it is old, and not measured when a part is missing', () => {
    expect(enteredValues([entry('heater_V', 12, 7200), entry('heater_A', 10, 60)]).heater_W).toMatchObject({ state: 'unverified', reason: 'heater_V is 2.0 h old, 1 h is its limit: read it again' });
    expect(enteredValues([entry('heater_V', 12, 60)]).heater_W).toMatchObject({ quantity: null, reason: 'no heater_A was entered' });
    expect(enteredValues([entry('fuel_in_g', 300, 900), entry('fuel_LHV_MJ_kg', 27, 0)]).fuel_W.quantity).toBeNull();
    expect(u(quantityOf(entry('heater_V', 12, 0)))).toBe(0.1);
  });
});

describe('ends of a stretch', () => {
  const pieces = (speed: (i: number) => number): Piece[] =>
    Array.from({ length: 60 }, (_, i) => ({ tick_from: i, tick_to: i + 1, t_s: i, duration_s: 1, turns: 10, speed_rpm: speed(i) + 0.2 * Math.sin(7 * i), torque_Nm: NaN, hot_C: NaN, coolant_in_C: NaN, coolant_out_C: NaN }));

  it('lose what belongs to the condition before or after, and no more', () => {
    expect(trimmed(pieces((i) => (i < 3 ? 630 : i > 56 ? 590 : 600)), 15).map((p) => p.t_s)).toEqual(Array.from({ length: 54 }, (_, i) => i + 3));
    expect(trimmed(pieces(() => 600), 15)).toHaveLength(60);
    expect(trimmed(pieces((i) => (i < 25 ? 630 : 600)), 15)[0]?.t_s).toBe(15);
  });
});

describe('values of a bench that is not whole', () => {
  const programme = (brake: number) => ({ programme: { heat: { between: 'step', points: [{ t_s: 0, value: 1 }] }, brake: { between: 'step', points: [{ t_s: 0, value: brake }] } } });
  const bench = new SamplesBench(teaselWith(programme(0.5)), 6);
  bench.run(100);
  const span = spanOf(bench.run(130));
  const at = (s: number): number => (s * 1e6) / US_PER_TICK;

  it('are none with the reason, never 0', () => {
    const { torque_Nm, power_W, heat_W, verified } = spanValues(span, knowledgeOf({ calibrations: {} }));
    expect(torque_Nm).toMatchObject({ quantity: null, state: 'uncalibrated' });
    expect(power_W).toMatchObject({ quantity: null, state: 'uncalibrated' });
    expect(heat_W.quantity).toBeNull();
    expect(verified).toBe(false);
    expect(spanValues(span, knowledgeOf()).torque_Nm.reason).toMatch(/no zero was taken/);
  });

  it('say what they lack to be verified', () => {
    const before = spanValues(span, knowledgeOf({ zeros: [zeroAtTick(1, at(10), -38_150)] }));
    expect(before.torque_Nm.state).toBe('unverified');
    expect(before.lacks).toEqual(['a zero before and after', 'a check mass within 24 h']);
    expect(before.cites).toMatchObject({ cal_ids: [7, 8, 9, 10, 11], zero_ids: [1], check_ids: [] });
    const failed = spanValues(span, knowledgeOf({ zeros: [zeroAtTick(1, at(10), -38_150), zeroAtTick(2, at(500), -38_150)], checks: [checkAtTick(4, at(600), false)] }));
    expect(failed.lacks).toEqual(['a check mass that passed']);
  });

  it('have the torque that speeds the wheel up, once its inertia is known', () => {
    const zeros = [zeroAtTick(1, at(10), -38_150), zeroAtTick(2, at(500), -38_150)];
    const still = spanValues(span, knowledgeOf({ zeros }));
    const inertia = { value: 0.0021, unit: 'kgm2', parts: [] };
    const known = spanValues(span, knowledgeOf({ zeros, inertia_kgm2: inertia }));
    const dw = still.acceleration?.rad_s2 ?? 0;
    // It still warms up.
    expect(dw).toBeGreaterThan(0.01);
    expect((known.torque_Nm.quantity?.value ?? 0) - (still.torque_Nm.quantity?.value ?? 0)).toBeCloseTo(0.0021 * dw, 9);
  });

  it('are over time where the shaft stands', () => {
    const held = new SamplesBench(teaselWith({ ...programme(0), engine: { ...teaselWith({}).engine, torque_curve: [{ speed_rpm: 0, torque_Nm: 0 }, { speed_rpm: 1000, torque_Nm: 0 }], start_rpm: 0 } }), 6);
    held.run(20);
    const values = spanValues(spanOf(held.run(60)), knowledgeOf({ zeros: [zeroAtTick(1, at(10), -38_150)] }));
    expect(values).toMatchObject({ shaft: 'stands', revolutions: 0, power_W: { quantity: { value: 0 } }, speed_rpm: { quantity: { value: 0 } } });
    expect(Math.abs(values.torque_Nm.quantity?.value ?? 1)).toBeLessThan(2e-4);
  });
});

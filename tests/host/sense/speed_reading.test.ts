import { describe, expect, it } from 'vitest';

import { sheetOf } from '../../../host/sense/sheet.js';
import { tickLength } from '../../../host/sense/speed_clock.js';
import { speedReading } from '../../../host/sense/speed_reading.js';
import { budget } from '../../../host/sense/uncertainty/budget.js';
import { expanded } from '../../../host/sense/uncertainty/coverage.js';
import { exact, known, u } from '../../../host/sense/uncertainty/quantity.js';
import { markEdges } from '../../../host/sense/wheel/batch.js';
import { seeded } from '../../support/random.js';
import { evenShares, normals, spin, US_PER_TICK } from './wheel/support.js';
import type { Fault, Spin } from './wheel/support.js';

const clock = exact(US_PER_TICK, 'us/tick');
const all = ({ ticks }: Spin) => ({ tick_from: 0, tick_to: ticks.at(-1) as number });
const marked = (magnets: number, ticks: readonly number[]) => markEdges(ticks, magnets, US_PER_TICK);

describe('a mean speed', () => {
  it('is whole revolutions over their time, whatever the wheel and the faults', () => {
    const fault = (i: number): Fault => (i % 29 === 11 ? 'missed' : i % 31 === 3 ? 'double' : 'none');
    const s = spin(400, [0.2, 0.3, 0.28, 0.22], () => 100e3, fault);
    const got = speedReading(marked(4, s.ticks), { tick_from: s.ticks[100] as number, tick_to: s.ticks[300] as number }, clock, 'boot 1');
    expect(got).toMatchObject({ state: 'measured', mean: 'over_time' });
    expect(Math.abs((got.speed?.value ?? 0) - 600)).toBeLessThan(2 * u(got.speed ?? exact(0, 'rpm')));
    expect(got.missed).toBeGreaterThan(4);
    expect(got.extra).toBeGreaterThan(4);
  });

  it('is the mean over time of a speed that changes, below that over revolutions', () => {
    // 5 then 10 rev/s: 25 turns in 5 s and 50 in 5 s, 7.5 over time, 8.33 over turns.
    const s = spin(76, [1], (turns) => (turns < 25 ? 200e3 : turns < 27 ? 150e3 : 100e3));
    const got = speedReading(marked(1, s.ticks), all(s), clock, 'boot 1');
    const span_min = ((got.tick_to ?? 0) - (got.tick_from ?? 0)) * US_PER_TICK / 60e6;
    expect(got.speed?.value).toBeCloseTo(got.revolutions / span_min, 9);
    expect(got.over_revolutions_rpm).toBeGreaterThan((got.speed?.value ?? Infinity) * 1.05);
  });

  it('carries the rectangle of a tick at both ends: sd of a revolution of T ticks is 1 / (sqrt 6 T)', () => {
    const draw = seeded(7);
    const errors: number[] = [];
    let stated = 0;
    for (let i = 0; i < 400; i++) {
      const period_us = 400 + 200 * draw();
      const s = spin(60, [1], () => period_us * 10);
      const got = speedReading(marked(1, s.ticks), all(s), clock, 'boot 1');
      const rpm = 6e6 / period_us;
      errors.push(((got.speed?.value ?? 0) - rpm) / rpm);
      const tick = budget(got.speed ?? exact(0, 'rpm')).find((line) => line.source.endsWith('ticks'));
      const ticks = (got.tick_to ?? 0) - (got.tick_from ?? 0);
      expect((tick?.u ?? 0) / rpm).toBeCloseTo(1 / (Math.sqrt(6) * ticks), 9);
      stated += (tick?.u ?? 0) / rpm / 400;
    }
    const sd = Math.sqrt(errors.reduce((sum, e) => sum + e * e, 0) / errors.length);
    expect(sd / stated).toBeGreaterThan(0.9);
    expect(sd / stated).toBeLessThan(1.1);
  });

  it('covers the true speed in 95 of 100 with a pickup that scatters and a shaft that drifts', () => {
    let covered = 0;
    let z = 0;
    for (let seed = 1; seed <= 400; seed++) {
      const normal = normals(seed);
      // One turn takes 100 ms, slowly more; the truth is where the first and last counted edges truly were.
      const late = Array.from({ length: 30 }, () => 15 * normal());
      const s = spin(30, [1], (turns) => 100e3 + 20 * turns, () => 'none', 0.1, (i) => late[i] as number);
      const got = speedReading(marked(1, s.ticks), all(s), clock, 'boot 1');
      const first = s.ticks.indexOf(got.tick_from ?? 0);
      let true_us = 0;
      for (let i = first; i < 29; i++) true_us += 100e3 + 20 * (i + 0.5);
      const error = (got.speed?.value ?? 0) - (60e6 * (29 - first)) / true_us;
      if (Math.abs(error) <= expanded(got.speed ?? exact(0, 'rpm')).U) covered++;
      z += (error / u(got.speed ?? exact(0, 'rpm'))) ** 2 / 400;
    }
    expect(covered / 400).toBeGreaterThan(0.925);
    expect(covered / 400).toBeLessThan(0.975);
    expect(Math.sqrt(z)).toBeLessThan(1.15);
  });

  it('is corrected by the board clock and carries its uncertainty in full', () => {
    const s = spin(60, evenShares(2), () => 100e3);
    const slow = speedReading(marked(2, s.ticks), all(s), known(0.5002, 'us/tick', 0.5002e-5, { id: 'boot 1: board clock', says: 'clock', kind: 'systematic' }), 'boot 1');
    expect(slow.speed?.value).toBeCloseTo(600 / 1.0004, 3);
    expect(u(slow.speed ?? exact(0, 'rpm')) / 600).toBeCloseTo(1e-5, 6);
  });

  it('is 0 of a shaft that stands, and no number where it did not turn all the time', () => {
    const s = spin(60, [1], () => 100e3);
    const last = s.ticks.at(-1) as number;
    const stands = speedReading(marked(1, s.ticks), { tick_from: last + 10, tick_to: last + 20e6 }, clock, 'boot 1');
    expect(stands).toMatchObject({ state: 'stands', speed: { value: 0 } });
    expect(speedReading(marked(1, s.ticks), { tick_from: last - 4e6, tick_to: last + 20e6 }, clock, 'boot 1')).toMatchObject({ state: 'partly', speed: null });
    expect(speedReading(marked(1, s.ticks), { tick_from: last - 1000, tick_to: last }, clock, 'boot 1')).toMatchObject({ state: 'too_short', speed: null });
    expect(speedReading(marked(1, []), { tick_from: 0, tick_to: 1000 }, clock, 'boot 1')).toMatchObject({ state: 'too_short', speed: null });
  });
});

describe('the length of a tick', () => {
  const sheet = sheetOf();
  const piece = (tick_from: number, utc_us: number, u_us: number, u_ppm?: number, us_per_tick = 0.5) => ({ boot_id: 1, tick_from, utc_us, us_per_tick, u_us, ...(u_ppm === undefined ? {} : { u_ppm }) });
  const time = (pieces: ReturnType<typeof piece>[]) => ({ boot_id: 1, nominal_us_per_tick: 0.5, pieces });

  it('is nominal within the limit of the sheet before the clock was measured better', () => {
    for (const pieces of [[], [piece(0, 0, 25_000, 2887)], [piece(0, 0, 300, 400, 0.5002)]]) {
      const tick = tickLength(time(pieces), 0, 1e6, sheet);
      expect(tick.value).toBe(0.5);
      expect(u(tick)).toBeCloseTo(0.5e-4 / Math.sqrt(3), 12);
      expect(budget(tick)[0]).toMatchObject({ source: 'boot 1: board clock', shape: 'rectangular' });
    }
  });

  it('is that of the piece known best in the span, with the uncertainty of its rate', () => {
    const tick = tickLength(time([piece(0, 0, 300, 900, 0.51), piece(1e6, 500_100, 100, 5, 0.5001), piece(2e6, 0, 100, 8, 0.6), piece(9e6, 0, 1, 1, 0.7)]), 1.5e6, 3e6, sheet);
    expect(tick.value).toBe(0.5001);
    expect(u(tick)).toBeCloseTo(0.5001 * 5e-6, 12);
  });

  it('is told by pieces far apart where a record keeps no uncertainty of the rate', () => {
    const tick = tickLength(time([piece(0, 0, 300), piece(200e6, 100.01e6, 400)]), 100e6, 110e6, sheet);
    expect(tick.value).toBeCloseTo(0.50005, 12);
    expect(u(tick)).toBeCloseTo(500 / 200e6, 12);
    expect(tickLength(time([piece(0, 0, 300), piece(2e6, 1.1e6, 400)]), 0, 2e6, sheet).value).toBe(0.5);
  });
});

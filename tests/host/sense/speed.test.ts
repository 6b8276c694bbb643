import { describe, expect, it } from 'vitest';

import { ShaftSpeed } from '../../../host/sense/speed.js';

const TICK_us = 0.5;
const ticks = (us: number): number => Math.round(us / TICK_us);

/** A shaft whose edges come after these times in turn. */
function shaft(magnets: number, sectors_us: readonly number[]): { speed: ShaftSpeed; last_us: number } {
  const speed = new ShaftSpeed(magnets, TICK_us);
  let at_us = 1e6;
  speed.edge(ticks(at_us));
  for (const sector_us of sectors_us) speed.edge(ticks((at_us += sector_us)));
  return { speed, last_us: at_us };
}
const turns = (n: number, sectors_us: readonly number[]): number[] => Array.from({ length: n }, () => sectors_us).flat();

describe('shaft speed', () => {
  it('is not measured before a whole revolution was seen', () => {
    expect(new ShaftSpeed(1, TICK_us).at(ticks(60e6))).toEqual({ state: 'not_measured', speed_rpm: null, period_s: null, tick: null });
    const { speed, last_us } = shaft(4, [50e3, 50e3, 50e3]);
    expect(speed.at(ticks(last_us))).toMatchObject({ state: 'not_measured', speed_rpm: null });
    speed.edge(ticks(last_us + 50e3));
    expect(speed.at(ticks(last_us + 50e3))).toMatchObject({ state: 'turning', speed_rpm: 300, period_s: 0.2 });
  });

  it.each([
    [1, 60, [1e6]],
    [1, 6, [10e6]],
    [1, 24_000, [2500]],
    [4, 600, [10e3, 20e3, 30e3, 40e3]],
    [3, 600, [20e3, 30e3, 50e3]],
  ])('with %i magnets is %f rev/min over whole revolutions, at every edge of an uneven wheel', (magnets, rpm, sectors_us) => {
    const { speed, last_us } = shaft(magnets, turns(20, sectors_us));
    let at_us = last_us;
    for (const sector_us of turns(2, sectors_us)) {
      speed.edge(ticks((at_us += sector_us)));
      expect(speed.at(ticks(at_us)).speed_rpm).toBeCloseTo(rpm, 6);
      // And all the way to the next edge: an uneven magnet is no braking.
      expect(speed.at(ticks(at_us + Math.min(...sectors_us) * 0.99)).state).toBe('turning');
    }
  });

  it('uses the board clock as it is known now', () => {
    const { speed, last_us } = shaft(1, turns(5, [0.1e6]));
    speed.us_per_tick = 0.5005;
    expect(speed.at(ticks(last_us)).speed_rpm).toBeCloseTo(600 / 1.001, 9);
  });

  it('decays with the time since the last edge, never above what is possible, and is 0 after 3 s', () => {
    const { speed, last_us } = shaft(2, turns(10, [50e3, 50e3]));
    expect(speed.at(ticks(last_us + 49e3))).toMatchObject({ state: 'turning', speed_rpm: 600 });
    for (const late_us of [60e3, 100e3, 0.5e6, 2.9e6]) {
      const { state, speed_rpm, period_s } = speed.at(ticks(last_us + late_us));
      expect(state).toBe('slowing');
      expect(speed_rpm).toBeCloseTo(60e6 / (2 * late_us), 6);
      expect(period_s).toBeCloseTo((2 * late_us) / 1e6, 9);
    }
    expect(speed.at(ticks(last_us + 3.001e6))).toEqual({ state: 'stopped', speed_rpm: 0, period_s: null, tick: ticks(last_us) });
  });

  it('of a slow shaft is not called 0 before three periods are over', () => {
    const { speed, last_us } = shaft(1, [6e6, 6e6]);
    expect(speed.at(ticks(last_us + 5.9e6))).toMatchObject({ state: 'turning', speed_rpm: 10 });
    expect(speed.at(ticks(last_us + 12e6))).toMatchObject({ state: 'slowing', speed_rpm: 5 });
    expect(speed.at(ticks(last_us + 18.1e6)).speed_rpm).toBe(0);
  });

  it('after a standstill is measured afresh, not over the pause', () => {
    const { speed, last_us } = shaft(1, turns(10, [0.1e6]));
    const again_us = last_us + 60e6;
    speed.edge(ticks(again_us));
    expect(speed.at(ticks(again_us + 1e3)).state).toBe('not_measured');
    expect(speed.at(ticks(again_us + 31e6)).speed_rpm).toBe(0);
    speed.edge(ticks(again_us + 32e6));
    speed.edge(ticks(again_us + 32.2e6));
    expect(speed.at(ticks(again_us + 32.2e6)).speed_rpm).toBeCloseTo(300, 9);
  });

  it('is never taken over a hole in the record', () => {
    const { speed, last_us } = shaft(1, turns(10, [0.1e6]));
    speed.hole();
    speed.edge(ticks(last_us + 0.3e6));
    expect(speed.at(ticks(last_us + 0.31e6)).speed_rpm).toBeNull();
    speed.edge(ticks(last_us + 0.4e6));
    expect(speed.at(ticks(last_us + 0.4e6)).speed_rpm).toBeCloseTo(600, 9);
  });

  it('averages over the whole revolutions in a fifth of a second', () => {
    const { speed, last_us } = shaft(1, [...turns(100, [10e3]), ...turns(16, [13e3])]);
    expect(speed.at(ticks(last_us)).period_s).toBeCloseTo(13e-3, 9);
    speed.edge(ticks(last_us + 10e3));
    expect(speed.at(ticks(last_us + 10e3)).period_s).toBeCloseTo((14 * 13e3 + 10e3) / 15 / 1e6, 9);
  });

  it.each([1, 4, 12])('of %i magnets is not halved by a missing edge nor doubled by an extra one, and says how often', (magnets) => {
    const sector_us = 100e3 / magnets;
    const { speed, last_us } = shaft(magnets, turns(40, new Array<number>(magnets).fill(sector_us)));
    let at_us = last_us;
    for (let i = 1; i <= 10 * magnets; i++) {
      at_us += sector_us;
      if (i % 7 === 3) continue;
      speed.edge(ticks(at_us));
      if (i % 5 === 1) expect(speed.edge(ticks(at_us + sector_us * 0.1))).toBe('double');
      expect(speed.at(ticks(at_us)).speed_rpm).toBeCloseTo(600, 2);
    }
    const passed = Array.from({ length: 10 * magnets }, (_, i) => i + 1);
    expect(speed.marks).toMatchObject({
      missing: passed.filter((i) => i % 7 === 3 && i < 10 * magnets).length,
      edges: { double: passed.filter((i) => i % 5 === 1 && i % 7 !== 3).length, impossible: 0 },
    });
  });

  it('of a shaft that is stalled by hand falls, and is never repaired up', () => {
    const { speed, last_us } = shaft(1, [...turns(20, [0.7e6]), 1.4e6, 2.5e6]);
    expect(speed.at(ticks(last_us)).speed_rpm).toBeCloseTo(24, 9);
    expect(speed.marks.missing).toBe(0);
  });
});

import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { Asker, nextAsk_us } from '../../../host/link/asker.js';
import { ClockMap, storedPiece } from '../../../host/link/clock_map.js';
import { box, estimate, within } from '../../../host/link/envelope.js';
import type { Bound } from '../../../host/link/envelope.js';
import { WallAnchor } from '../../../host/link/wall_anchor.js';
import { mean, percentile, study } from './support/clock_study.js';
import { seeded } from '../../support/random.js';

const exponential = (random: () => number, mean_us: number): number => -mean_us * Math.log(1 - random());
/** What USB adapters do: most answers soon, one in ten held back. */
const usbDelay = (random: () => number): number => (random() < 0.1 ? 20_000 : exponential(random, 2000));
const none = (): number => 0;

/** 20 connections of five minutes each. */
function studies(way: { out: boolean; back: boolean }, ppm: number) {
  const errors_us: number[] = [];
  const U95_us: number[] = [];
  for (let seed = 1; seed <= 20; seed++) {
    const random = seeded(seed * 7919);
    const delay = (): number => usbDelay(random);
    const one = study(random, { out_us: way.out ? delay : none, back_us: way.back ? delay : none }, { ppm, duration_s: 300, from_s: 30 });
    // Not push(...many): that many arguments do not fit the stack.
    for (const e of one.errors_us) errors_us.push(e);
    for (const u of one.U95_us) U95_us.push(u);
  }
  return {
    p95_us: percentile(errors_us, 0.95),
    covered: mean(errors_us.map((e, i) => (e <= (U95_us[i] ?? 0) ? 1 : 0))),
    meanU95_us: mean(U95_us),
  };
}

describe('sample time under USB-like delay, from 30 s after connecting', () => {
  it.each([
    ['both ways', { out: true, back: true }, 50],
    ['board to host only', { out: false, back: true }, 50],
    ['host to board only', { out: true, back: false }, -50],
    ['both ways, a ceramic resonator', { out: true, back: true }, 3000],
  ])('%s: 95 %% within 1 ms, the published U95 holds and is no more than twice as wide as needed', (_, way, ppm) => {
    const { p95_us, covered, meanU95_us } = studies(way, ppm);
    expect(p95_us).toBeLessThan(250);
    expect(covered).toBeGreaterThanOrEqual(0.93);
    expect(meanU95_us).toBeLessThanOrEqual(2 * p95_us);
  }, 20_000);
});

describe('clock map', () => {
  const hello = { tick: 1000, received_us: 7_000_000 };

  it('is usable from the hello on, with an uncertainty that says how little it knows', () => {
    const map = new ClockMap(1, 0.5, hello);
    const at = map.toMonotonic(1000);
    expect(Math.abs(at.us - 7_000_000)).toBeLessThanOrEqual(2 * at.u_us);
    expect(at.u_us).toBeGreaterThan(1000);
  });

  it('keeps what it said of the past when it learns more', () => {
    const map = new ClockMap(1, 0.5, hello);
    const before = map.toMonotonic(50_000);
    map.exchange({ sent_us: 7_100_000, received_us: 7_103_000, tick_in: 202_000, tick_out: 202_100 });
    expect(map.toMonotonic(50_000).us).toBe(before.us);
    expect(map.toMonotonic(300_000).u_us).toBeLessThan(5000);
  });

  it('says the rate of the board, and how well it knows it', () => {
    const random = seeded(5);
    const map = new ClockMap(1, 0.5, { tick: 0, received_us: 0 });
    for (let t_us = 1e6; t_us < 90e6; t_us += 1e6) {
      const tick = (us: number): number => Math.floor((us * 1.00012) / 0.5);
      const in_us = t_us + 440 + exponential(random, 500);
      map.exchange({ sent_us: t_us, received_us: in_us + 1500 + exponential(random, 500), tick_in: tick(in_us), tick_out: tick(in_us + 100) });
    }
    const { ppm, u_ppm } = map.latest;
    expect(Math.abs(ppm - 120)).toBeLessThan(3 * u_ppm);
    expect(u_ppm).toBeLessThan(5);
  });

  it('follows a host clock whose rate is changed, and widens rather than lies when the board runs unevenly', () => {
    const slewed = study(seeded(11), { out_us: () => 200, back_us: () => 200 }, { ppm: 0, duration_s: 240, from_s: 130, board_us: (t) => (t < 120e6 ? t : 120e6 + (t - 120e6) * (1 + 400e-6)) });
    expect(percentile(slewed.errors_us, 1)).toBeLessThan(2500);
    expect(mean(slewed.errors_us.map((e, i) => (e <= (slewed.U95_us[i] ?? 0) ? 1 : 0)))).toBeGreaterThan(0.93);
    const uneven = study(seeded(12), { out_us: none, back_us: none }, { ppm: 0, duration_s: 120, from_s: 30, board_us: (t) => t + 3000 * Math.sin(t / 1234) });
    expect(mean(uneven.errors_us.map((e, i) => (e <= (uneven.U95_us[i] ?? 0) ? 1 : 0)))).toBeGreaterThan(0.93);
  });

  it('takes no answer that came long before it was asked for', () => {
    const map = new ClockMap(1, 0.5, hello);
    expect(map.exchange({ sent_us: 9_000_000, received_us: 9_001_000, tick_in: 1_000_000, tick_out: 2_000_000 })).toBeNull();
    expect(map.exchanges).toBe(0);
  });

  it('publishes pieces that each begin after the one before', () => {
    const map = new ClockMap(1, 0.5, hello);
    const piece = map.exchange({ sent_us: 7_100_000, received_us: 7_103_000, tick_in: 202_000, tick_out: 202_100 });
    expect(piece?.tick_from).toBe(202_100);
    expect(map.again(202_100)).toBeNull();
    expect(map.again(204_100)).toMatchObject({ tick_from: 204_100, us: (piece?.us ?? 0) + 2000 * (piece?.us_per_tick ?? 0) });
  });
});

describe('lines between bounds', () => {
  it('keeps the true line, and its spread is that of the lines that are left', () => {
    fc.assert(
      fc.property(fc.double({ min: -900, max: 900, noNaN: true }), fc.double({ min: -90, max: 90, noNaN: true }), fc.integer(), (offset, slope, seed) => {
        const random = seeded(seed);
        const bounds = Array.from({ length: 30 }, (_, i): Bound => {
          const x = -i * random();
          const side = random() < 0.5 ? 'above' : 'below';
          return { x, y: offset + slope * x + (side === 'above' ? -1 : 1) * 5 * random(), side, slack: 0 };
        });
        const left = within(box(1000, 100), bounds);
        const line = estimate(left);
        if (line === null) throw new Error('nothing is left');
        expect(within(left, [{ x: 0, y: offset - 1e-6, side: 'above', slack: 0 }, { x: 0, y: offset + 1e-6, side: 'below', slack: 0 }]).length).toBeGreaterThan(0);
        const values = left.map(([o, s]) => o - 3 * s);
        expect(line.u_at(-3)).toBeLessThanOrEqual((Math.max(...values) - Math.min(...values)) / 2 + 1e-9);
      }),
    );
  });

  it('has the mean and the standard deviation of a rectangle', () => {
    const line = estimate(box(6, 3));
    expect(line?.offset).toBeCloseTo(0, 12);
    expect(line?.u_at(0)).toBeCloseTo(12 / Math.sqrt(12), 12);
    expect(line?.u_slope).toBeCloseTo(6 / Math.sqrt(12), 12);
    expect(line?.u_at(2)).toBeCloseTo(Math.hypot(12, 12) / Math.sqrt(12), 12);
  });
});

describe('wall clock', () => {
  it('finds the offset of a clock that is read to the millisecond to a tenth of that, and notices a step either way', () => {
    const anchor = new WallAnchor();
    const random = seeded(3);
    const offset_us = 1.7e15 + 417;
    let t_us = 0;
    const read = (step_us: number): boolean => {
      t_us += 1e6 * random();
      return anchor.read(t_us, Math.floor((t_us + offset_us + step_us) / 1000) * 1000, t_us + 2);
    };
    for (let i = 0; i < 100; i++) expect(read(0)).toBe(false);
    expect(Math.abs(anchor.offset_us - offset_us)).toBeLessThan(100);
    expect(read(20_000)).toBe(true);
    for (let i = 0; i < 100; i++) expect(read(20_000)).toBe(false);
    expect(read(-5_000_000_000)).toBe(true);
    expect(anchor.steps).toBe(2);
  });

  it('moves stored UTC and nothing else', () => {
    const piece = new ClockMap(1, 0.5, { tick: 10, received_us: 99 }).latest;
    const stored = storedPiece(1, piece, { offset_us: 5000, u_us: 3 });
    expect(stored).toEqual({ boot_id: 1, tick_from: 10, utc_us: piece.us + 5000, us_per_tick: 0.5, u_us: Math.hypot(piece.u_us, 3), u_ppm: piece.u_ppm });
  });
});

describe('asker', () => {
  it('asks eight times in the first two seconds or so, then about once a second, never in step and never above the rate', () => {
    const random = seeded(9);
    const intervals = Array.from({ length: 500 }, (_, i) => nextAsk_us(i + 1, random));
    expect(intervals.slice(0, 7).reduce((a, b) => a + b)).toBeLessThan(2.1e6);
    const slow = intervals.slice(7);
    expect(Math.min(...intervals)).toBeGreaterThanOrEqual(250_000);
    expect(Math.min(...slow)).toBeGreaterThanOrEqual(700_000);
    expect(Math.max(...slow)).toBeLessThanOrEqual(1_300_000);
    expect(new Set(slow.map((us) => Math.round(us / 1000))).size).toBeGreaterThan(100);
  });

  it('matches answers to questions, once each, and forgets the unanswered', () => {
    const asker = new Asker(() => 0);
    const first = asker.ask(100).seq;
    expect(asker.answered(first)).toBe(100);
    expect(asker.answered(first)).toBeNull();
    const second = asker.ask(200).seq;
    for (let i = 0; i < 4; i++) asker.ask(300 + i);
    expect(asker.answered(second)).toBeNull();
    expect(asker).toMatchObject({ unanswered: 1, unmatched: 2, asked: 6 });
  });
});

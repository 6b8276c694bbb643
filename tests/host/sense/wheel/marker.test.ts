import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { markEdges } from '../../../../host/sense/wheel/batch.js';
import { wheelLimits } from '../../../../host/sense/wheel/limits.js';
import { EdgeMarker, marks } from '../../../../host/sense/wheel/marker.js';
import { RecentEdges } from '../../../../host/sense/wheel/recent.js';
import { evenShares, spin, US_PER_TICK } from './support.js';
import type { Fault, Spin } from './support.js';

const say = (i: number): string => marks[i] as string;

/** Of each stretch: sectors counted between its edges against magnets that truly passed, and the extra edges that were counted. */
function wrongCounts(s: Spin, magnets: number): { counted: number; wrong: number } {
  const marked = markEdges(s.ticks, magnets, US_PER_TICK);
  let wrong = 0;
  let counted = 0;
  const first = new Map<number, number>();
  for (let i = 0; i < s.ticks.length; i++) {
    const stretch = marked.stretch[i] as number;
    if (stretch < 0) continue;
    counted++;
    const at = first.get(stretch) ?? i;
    first.set(stretch, at);
    const passed = (s.passed[i] as number) - (s.passed[at] as number);
    if ((marked.sector[i] as number) - (marked.sector[at] as number) !== passed || s.real[i] === false) wrong++;
  }
  return { counted, wrong };
}

/** These faults over and over, but of six magnets in a row no more than two missing. */
function seldom(faults: readonly Fault[]): (i: number) => Fault {
  const made: Fault[] = [];
  return (i) => {
    const fault = faults[i % faults.length] as Fault;
    made[i] = fault === 'missed' && made.slice(Math.max(0, i - 5), i).filter((f) => f === 'missed').length >= 2 ? 'none' : fault;
    return made[i];
  };
}

describe('edge marks', () => {
  it('name each edge of a fault, and repair the count', () => {
    const fault = (i: number): Fault => (i === 30 || i === 41 || i === 42 ? 'missed' : i === 50 ? 'double' : 'none');
    const s = spin(80, evenShares(4), () => 100e3, fault);
    const { mark, sector, counts } = markEdges(s.ticks, 4, US_PER_TICK);
    const at = (passed: number, real = true): number => s.passed.findIndex((p, i) => p === passed && s.real[i] === real);
    expect([31, 43].map((p) => say(mark[at(p)] as number))).toEqual(['missed', 'missed']);
    expect(say(mark[at(50, false)] as number)).toBe('double');
    expect((sector[at(43)] as number) - (sector[at(40)] as number)).toBe(3);
    expect(counts).toMatchObject({ missing: 3, fresh: 1, edges: { missed: 2, double: 1, impossible: 0 } });
    expect(mark.reduce((n, m) => n + (say(m) === 'good' ? 1 : 0), 0)).toBe(counts.edges.good);
  });

  it('call impossible what no shaft does: sooner than at its greatest speed, or backwards', () => {
    const marker = new EdgeMarker(1, US_PER_TICK);
    for (let i = 0; i < 10; i++) marker.edge(200_000 * i);
    expect(marker.edge(1_799_999)).toBe('impossible');
    expect(marker.edge(NaN)).toBe('impossible');
    const fast = new EdgeMarker(1, US_PER_TICK, { speed_max_rpm: 3000, relaxed_below_rpm: 100, deceleration_max_rad_s2: null });
    for (let i = 0; i < 10; i++) fast.edge(45_000 * i);
    expect(fast.edge(45_000 * 9 + 35_000)).toBe('impossible');
  });

  it('do not call a stall missed: below 100 rev/min one interval may double, above it may not', () => {
    const after = (period_us: number, deceleration: number | null = null): string => {
      const marker = new EdgeMarker(1, US_PER_TICK, { speed_max_rpm: 24_000, relaxed_below_rpm: 100, deceleration_max_rad_s2: deceleration });
      for (let i = 0; i < 10; i++) marker.edge((period_us / US_PER_TICK) * i);
      return marker.edge((period_us / US_PER_TICK) * 11);
    };
    expect(after(0.65e6)).toBe('good');
    expect(after(0.55e6)).toBe('missed');
    // A brake of 50 mNm on 2e-3 kgm2 stops 150 rev/min within a revolution, not 200.
    expect(after(0.4e6, 25)).toBe('good');
    expect(after(0.3e6, 25)).toBe('missed');
  });

  it('take another speed for what it is, though it came at a stroke', () => {
    for (const [before, then] of [[100e3, 30e3], [100e3, 250e3], [100e3, 47e3]] as const) {
      const s = spin(60, [1], (turns) => (turns < 20 ? before : then));
      const marked = markEdges(s.ticks, 1, US_PER_TICK);
      expect(say(marked.mark.at(-1) as number)).toBe('good');
      expect((marked.sector.at(-1) as number) - (marked.sector.at(-11) as number)).toBe(10);
    }
  });

  it('count every revolution of any wheel with missing and extra edges', () => {
    let judged = 0;
    fc.assert(
      fc.property(
        fc.integer({ min: 1, max: 12 }), fc.integer({ min: 150, max: 2000 }), fc.double({ min: 0, max: 0.12, noNaN: true }),
        fc.array(fc.double({ min: -1, max: 1, noNaN: true }), { minLength: 12, maxLength: 12 }),
        fc.array(fc.constantFrom<Fault>('none', 'none', 'none', 'none', 'none', 'none', 'none', 'missed', 'double'), { minLength: 40, maxLength: 200 }),
        fc.double({ min: 0.01, max: 0.25, noNaN: true }), fc.double({ min: 0, max: 0.25, noNaN: true }),
        (magnets, rpm, uneven, errors, faults, gap, swing) => {
          const raw = evenShares(magnets).map((share, k) => share * (1 + (magnets === 1 ? 0 : uneven * (errors[k] as number))));
          const shares = raw.map((share) => share / raw.reduce((a, b) => a + b));
          const s = spin(400, shares, (turns) => (60e6 / rpm) * (1 + swing * Math.sin(turns / 8)), seldom(faults), gap);
          const { counted, wrong } = wrongCounts(s, magnets);
          if (counted > 100) judged++;
          expect(wrong).toBe(0);
        },
      ),
      { numRuns: 300, seed: 4101 },
    );
    expect(judged).toBeGreaterThan(250);
  });

  it('find a wheel of any spacing once four revolutions were clean', () => {
    const s = spin(120, [0.1, 0.2, 0.3, 0.4], () => 100e3, (i) => (i === 61 || i === 78 ? 'missed' : i === 70 ? 'double' : 'none'));
    const { counted, wrong } = wrongCounts(s, 4);
    expect(wrong).toBe(0);
    expect(counted).toBeGreaterThan(95);
  });

  it('know an uneven wheel that was learned by its first revolutions, whichever magnet comes first', () => {
    const shares = [0.1, 0.2, 0.3, 0.4];
    for (const first of [0, 1, 2, 3]) {
      const turned = shares.map((_, k) => shares[(first + k) % 4] as number);
      // The fifth interval is over with edge 5; unlearned it takes sixteen.
      const s = spin(60, turned, () => 100e3, (i) => (i === 9 || i === 30 ? 'missed' : i === 12 ? 'double' : 'none'));
      const learned = markEdges(s.ticks, 4, US_PER_TICK, { ...wheelLimits, sector_share: shares });
      expect(learned.stretch.findIndex((x) => x === 0)).toBe(5);
      expect(learned.counts).toMatchObject({ missing: 2, fresh: 1, edges: { missed: 2, double: 1 } });
      expect(learned.sector.at(-1)).toBe(54);
      expect(markEdges(s.ticks, 4, US_PER_TICK).stretch.findIndex((x) => x === 0)).toBeGreaterThan(15);
    }
  });

  it('never throw, use bounded memory and judge each edge, whatever comes', () => {
    fc.assert(
      fc.property(fc.integer({ min: 1, max: 12 }), fc.array(fc.oneof(fc.double(), fc.integer({ min: -5, max: 100_000 }), fc.constant(Infinity)), { maxLength: 200 }), (magnets, steps) => {
        const marker = new EdgeMarker(magnets, US_PER_TICK);
        let at = 0;
        for (const step of steps) {
          expect(marks).toContain(marker.edge((at += step)));
          expect(marker.sectors).toBeGreaterThanOrEqual(0);
        }
        const { edges } = marker.counts;
        expect(Object.values(edges).reduce((a, b) => a + b)).toBe(steps.length);
      }),
      { numRuns: 200, seed: 4102 },
    );
  });

  it('in a batch are those of the stream, and counting ends at a hole', () => {
    const s = spin(300, evenShares(3), (turns) => 80e3 * (1 + 0.1 * Math.sin(turns / 9)), (i) => (i % 37 === 5 ? 'missed' : i % 23 === 7 ? 'double' : 'none'));
    const marker = new EdgeMarker(3, US_PER_TICK);
    const said = s.ticks.map((tick) => marker.edge(tick));
    expect([...markEdges(s.ticks, 3, US_PER_TICK).mark].map(say)).toEqual(said);
    const holed = markEdges(s.ticks, 3, US_PER_TICK, undefined, [s.ticks[150] as number]);
    expect(holed.stretch[150]).toBe(0);
    expect(say(holed.mark[151] as number)).toBe('unjudged');
    expect(holed.stretch.at(-1)).toBe(1);
  });
});

describe('the last edges', () => {
  it('are those of the batch, and no more than are wanted', () => {
    const s = spin(6000, evenShares(3), (turns) => 60e3 * (1 + 0.1 * Math.sin(turns / 9)), (i) => (i % 37 === 5 ? 'missed' : i % 23 === 7 ? 'double' : 'none'));
    const recent = new RecentEdges(3, US_PER_TICK, 3e6);
    for (const tick of s.ticks) recent.edge(tick);
    const { ticks, mark, stretch, sector, counts } = recent.marked();
    const all = markEdges(s.ticks, 3, US_PER_TICK);
    expect(ticks.length).toBeLessThan(700);
    expect((ticks[0] as number)).toBeLessThan((s.ticks.at(-1) as number) - 6e6);
    expect([...mark]).toEqual([...all.mark.slice(-mark.length)]);
    expect([...stretch]).toEqual([...all.stretch.slice(-mark.length)]);
    expect([...sector]).toEqual([...all.sector.slice(-mark.length)]);
    expect(counts).toEqual(all.counts);
    recent.hole();
    expect(recent.edge((s.ticks.at(-1) as number) + 40_000)).toBe('unjudged');
  });

  it('of a shaft that hardly turns are not all forgotten, and of noise not all kept', () => {
    const slow = new RecentEdges(2, US_PER_TICK, 1e6);
    for (let i = 0; i < 1000; i++) slow.edge(i * 4e6);
    expect(slow.marked().ticks.length).toBeGreaterThan(15);
    expect(slow.marked().ticks.length).toBeLessThan(70);
    const noisy = new RecentEdges(2, US_PER_TICK, 1e6);
    for (let i = 0; i < 50_000; i++) noisy.edge(i);
    expect(noisy.marked().ticks.length).toBeLessThanOrEqual(4096);
  });
});

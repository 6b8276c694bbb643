import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { limitsOf } from '../../../host/watch/limits.js';
import { rules } from '../../../host/watch/rules.js';
import { blind, measures } from '../../../host/watch/seen.js';
import { Watch } from '../../../host/watch/watch.js';
import { WatchedBench, hotAt, hotLost } from './bench.js';
import type { Shown } from './bench.js';

const started = (): WatchedBench => {
  const bench = new WatchedBench();
  bench.for(5);
  return bench;
};

describe('an alarm', () => {
  it('tells within a second, is not told by a spike, and rises to the second level', () => {
    const bench = started();
    expect(bench.for(0.2, hotAt(700))).toEqual([]);
    expect(bench.for(2)).toEqual([]);
    expect(bench.for(0.8, hotAt(505))).toEqual(['hot_end raised warn']);
    expect(bench.for(0.8, hotAt(560))).toEqual(['hot_end rose alarm']);
  });

  it('stays until it is gone and acknowledged, in either order, and says by whom', () => {
    const bench = started();
    bench.for(1, hotAt(510));
    expect(bench.for(600)).toEqual(['hot_end gone warn']);
    expect(bench.view).toMatchObject({ urgent: expect.stringMatching(/^Over, but nobody acknowledged it/) as string, sound: { level: 'warn' } });
    expect(bench.acknowledge('hot_end')).toEqual(['hot_end acknowledged', 'hot_end cleared']);
    expect(bench.view.alarms).toEqual([]);

    bench.for(1, hotAt(510));
    expect(bench.acknowledge()).toEqual(['hot_end acknowledged']);
    expect(bench.acknowledge()).toEqual([]);
    expect(bench.view).toMatchObject({ sound: null, alarms: [{ name: 'hot_end', present: true, acknowledged: { by: 'Ann' } }] });
    expect(bench.for(5)).toEqual(['hot_end gone warn', 'hot_end cleared warn']);
    expect(bench.events.map((e) => e.alarm_id)).toEqual([1, 1, 2, 2, 2]);
  });

  it('is not left at the limit but below its hysteresis, and not at once', () => {
    const bench = started();
    bench.for(1, hotAt(505));
    expect(bench.for(30, hotAt(495))).toEqual([]);
    expect(bench.for(1, hotAt(480))).toEqual([]);
    expect(bench.for(1, hotAt(505))).toEqual([]);
    expect(bench.for(3, hotAt(480))).toEqual(['hot_end gone warn']);
    expect(bench.for(1, hotAt(505))).toEqual(['hot_end back warn']);
  });

  it('must be acknowledged again when it grows worse, or eases and grows worse again', () => {
    const bench = started();
    bench.for(1, hotAt(505));
    bench.acknowledge();
    expect(bench.for(1, hotAt(560))).toEqual(['hot_end rose alarm']);
    expect(bench.view.alarms[0]).toMatchObject({ level: 'alarm', acknowledged: null, sounds: true });
    bench.acknowledge();
    expect(bench.for(5, hotAt(520))).toEqual([]);
    expect(bench.view.alarms[0]).toMatchObject({ level: 'alarm' });
    expect(bench.for(1, hotAt(560))).toEqual(['hot_end rose alarm']);
  });

  it('is kept quiet for a time, and no longer than 2 minutes where something is too hot', () => {
    const bench = started();
    const both = { ...hotAt(560), load: blind('no conversion comes') };
    bench.for(1, both);
    expect(bench.mute(15)).toEqual(['hot_end muted', 'load_cell muted']);
    expect(bench.view).toMatchObject({ sound: null, alarms: [{ quiet_s: 120 }, { quiet_s: 900 }] });
    bench.for(119, both);
    expect(bench.view.sound).toBeNull();
    bench.for(2, both);
    expect(bench.view.sound).toEqual({ cause: 'engine', level: 'alarm' });
    expect(bench.acknowledge()).toHaveLength(2);
    expect(bench.view.sound).toBeNull();
    bench.for(121, both);
    expect(bench.view.sound).toEqual({ cause: 'engine', level: 'alarm' });
    expect(bench.view.alarms[1]?.sounds).toBe(false);
  });

  it('that comes while others are quiet is heard, and 0 minutes ends the quiet', () => {
    const bench = started();
    const cell = { load: blind('no conversion comes') };
    bench.for(1, cell);
    bench.mute(15);
    bench.for(1, { ...cell, coolant_in: blind('at the end of its range') });
    expect(bench.view.alarms.map((a) => [a.name, a.sounds])).toEqual([['coolant_in_sensor', true], ['load_cell', false]]);
    expect(bench.mute(0)).toEqual(['load_cell unmuted']);
    expect(bench.view.alarms.every((a) => a.sounds)).toBe(true);
  });

  it('whose sensor is lost is not gone', () => {
    const bench = started();
    bench.for(1, hotAt(560));
    bench.acknowledge();
    expect(bench.for(60, hotLost())).toEqual(['hot_sensor raised alarm']);
    expect(bench.view.alarms.find((a) => a.name === 'hot_end')).toMatchObject({ present: null, level: 'alarm', sounds: false });
    bench.for(120, hotLost());
    expect(bench.view.alarms.find((a) => a.name === 'hot_end')).toMatchObject({ sounds: true });
  });

  it('says how bad it was when it is over, and how bad it is while it is there', () => {
    const bench = started();
    bench.for(1, hotAt(590));
    bench.for(5, hotAt(520));
    expect(bench.view.alarms[0]).toMatchObject({ level: 'alarm', value: 520 });
    bench.for(5);
    expect(bench.view.alarms[0]).toMatchObject({ level: 'alarm', value: 590, limit: 550, says: expect.stringContaining('at 590 C, limit 550 C') as string });
    expect(bench.events.at(-1)).toMatchObject({ change: 'gone', value: 590 });
  });

  it('of a board that is silent is told once, and not of each of its sensors', () => {
    const bench = started();
    const nothing = { ...hotLost(), coolant_in: blind('x'), coolant_out: blind('x'), skin: blind('x'), load: blind('x'), flow: null, shaft: null };
    expect(bench.for(5, { ...nothing, silent_s: 3 })).toEqual(['board_silent raised alarm']);
    expect(bench.for(5, { ...nothing, down: 'the port is gone', silent_s: null })).toEqual([]);
    expect(bench.for(1.5, nothing)).toEqual([]);
    expect(bench.for(3)).toEqual(['board_silent gone alarm']);
    expect(bench.for(1, hotLost())).toEqual(['hot_sensor raised alarm']);
  });

  it('the most urgent first: worse before milder, the engine before an instrument', () => {
    const bench = started();
    bench.for(25, { ...hotAt(505), load: blind('x'), coolant_in: measures(60), coolant_out: measures(50) });
    expect(bench.view.alarms.map((a) => a.name)).toEqual(['hot_end', 'coolant_out', 'load_cell', 'coolant_swapped']);
    bench.for(1, { ...hotAt(505), load: blind('x'), coolant_in: measures(60), coolant_out: measures(61) });
    expect(bench.view.alarms.map((a) => a.name)[0]).toBe('coolant_out');
  });
});

/** Anything at all that a bench may show. */
const anything: fc.Arbitrary<Shown> = fc.record(
  {
    hot: fc.oneof(fc.double({ min: -50, max: 900, noNaN: true }).map((C) => ({ ...measures(C), junction_C: 25 })), fc.constant({ ...blind('open'), junction_C: null })),
    coolant_out: fc.oneof(fc.double({ min: 5, max: 95, noNaN: true }).map(measures), fc.constant(blind('open'))),
    coolant_in: fc.oneof(fc.double({ min: 5, max: 60, noNaN: true }).map(measures), fc.constant(blind('open'))),
    shaft: fc.oneof(fc.constant(null), fc.record({ state: fc.constantFrom('turning' as const, 'slowing' as const, 'stopped' as const), speed_rpm: fc.double({ min: 0, max: 4000, noNaN: true }) })),
    flow: fc.oneof(fc.constant(null), fc.double({ min: 0.01, max: 30, noNaN: true }).map((age_s) => ({ pulse_rate_Hz: Math.min(8, 1 / age_s), pulse_age_s: age_s }))),
    down: fc.constantFrom(null, null, null, 'the port is gone'),
  },
  { requiredKeys: [] },
);

describe('whatever the bench shows', () => {
  it('no alarm is cleared that nobody acknowledged, none that stands is silent for longer than it may be', () => {
    fc.assert(
      fc.property(fc.array(fc.tuple(anything, fc.constantFrom(0.2, 1, 4), fc.constantFrom('', '', 'acknowledge', 'mute')), { maxLength: 40 }), (steps) => {
        const bench = started();
        const standing = new Map<number, boolean>();
        for (const [shown, seconds, hand] of steps) {
          bench.for(seconds, shown);
          if (hand === 'acknowledge') bench.events.push(...bench.watch.acknowledge(null, 'Ann', bench.now));
          if (hand === 'mute') bench.mute(15);
          for (const e of bench.events.splice(0)) {
            if (e.change === 'cleared') {
              expect(standing.get(e.alarm_id)).toBe(true);
              standing.delete(e.alarm_id);
            } else standing.set(e.alarm_id, e.change === 'acknowledged' || (e.change === 'gone' && standing.get(e.alarm_id) === true));
          }
          const view = bench.view;
          expect(view.alarms.map((a) => a.alarm_id).sort()).toEqual([...standing.keys()].sort());
          for (const a of view.alarms) {
            const tooHot = (a.name === 'hot_end' || a.name === 'coolant_out') && a.level === 'alarm' && a.present !== false;
            expect(a.quiet_s).toBeLessThanOrEqual(tooHot ? 120 : 900);
            if (!a.sounds) expect(a.acknowledged !== null || a.quiet_s > 0).toBe(true);
            if (tooHot && !a.sounds) expect(a.quiet_s).toBeGreaterThan(0);
          }
          expect(view.sound === null).toBe(view.alarms.every((a) => !a.sounds));
        }
      }),
      { seed: 20260115, numRuns: 150 },
    );
  });

  it('a sensor that worked and is lost for a second is told, once the board has been live for two', () => {
    fc.assert(
      fc.property(fc.array(anything, { maxLength: 10 }), (steps) => {
        const bench = started();
        for (const shown of steps) bench.for(1, shown);
        bench.for(2.2);
        bench.for(1, hotLost());
        expect(bench.view.alarms.map((a) => a.name)).toContain('hot_sensor');
      }),
      { seed: 20260115, numRuns: 100 },
    );
  });

  it('every rule has a name of its own', () => {
    expect(new Set(rules.map((r) => r.name)).size).toBe(rules.length);
    expect(new Watch(limitsOf()).view(0).advises).toContain('independent hardware');
  });
});

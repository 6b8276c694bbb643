import { describe, expect, it } from 'vitest';

import { alarmName, alarmNames, bannerOf, soundNote } from '../../host/page/src/lib/alarm_view.js';
import { patternOf, soundNow } from '../../host/page/src/lib/tones.js';
import type { Heard, Tone } from '../../host/page/src/lib/tones.js';
import { limitsOf } from '../../host/watch/limits.js';
import { ruleNames } from '../../host/watch/rules.js';
import { Watch } from '../../host/watch/watch.js';
import { blind } from '../../host/watch/seen.js';
import { WatchedBench, hotAt } from '../host/watch/bench.js';

const kinds: readonly Heard[] = [{ cause: 'engine', level: 'alarm' }, { cause: 'engine', level: 'warn' }, { cause: 'instrument', level: 'alarm' }, { cause: 'instrument', level: 'warn' }];
const sounding = (tones: readonly Tone[]): readonly Tone[] => tones.filter((t) => t.from_Hz > 0);
const share = (tones: readonly Tone[]): number => sounding(tones).reduce((sum, t) => sum + t.ms, 0) / tones.reduce((sum, t) => sum + t.ms, 0);

describe('the tones', () => {
  it.each(kinds)('$cause $level lies from 1 to 4 kHz, where the ear is keenest', (kind) => {
    for (const { from_Hz, to_Hz, ms } of sounding(patternOf(kind))) {
      expect(Math.min(from_Hz, to_Hz)).toBeGreaterThanOrEqual(1000);
      expect(Math.max(from_Hz, to_Hz)).toBeLessThanOrEqual(4000);
      expect(ms).toBeGreaterThanOrEqual(100);
    }
  });

  it('are told apart by ear: the engine glides, an instrument does not; an alarm hardly pauses, a warning mostly does', () => {
    for (const kind of kinds) {
      expect(sounding(patternOf(kind)).every((t) => t.from_Hz !== t.to_Hz)).toBe(kind.cause === 'engine');
      if (kind.level === 'alarm') expect(share(patternOf(kind))).toBeGreaterThan(0.6);
      else expect(share(patternOf(kind))).toBeLessThan(0.3);
    }
  });

  it('are those of the watch while the page is live, and an alarm of its own when it has lost its bench', () => {
    const bench = new WatchedBench();
    bench.for(5);
    bench.for(1, hotAt(600));
    const watch = bench.view;
    expect(soundNow({ freshness: 'live', watch }, true, true)).toEqual({ cause: 'engine', level: 'alarm' });
    for (const freshness of ['lost', 'stale'] as const) {
      expect(soundNow({ freshness, watch: null }, true, false)).toEqual({ cause: 'instrument', level: 'alarm' });
      expect(soundNow({ freshness, watch }, true, true)).toBeNull();
      expect(soundNow({ freshness, watch: null }, false, false)).toBeNull();
    }
    expect(soundNow({ freshness: 'live', watch: null }, true, false)).toBeNull();
  });

  it('are said to be off as long as the browser keeps them so', () => {
    expect(soundNote(false, 'live')).toContain('until you tap');
    expect(soundNote(true, 'live')).toBeNull();
  });
});

describe('the banner', () => {
  it('is away while nothing stands', () => {
    expect(bannerOf(null)).toMatchObject({ level: null, rows: [], acknowledge: false, mute: false });
    expect(bannerOf(new Watch(limitsOf()).view(0))).toMatchObject({ level: null, advises: expect.stringContaining('independent hardware') as string });
  });

  it('says in words what stands, how bad, by what, and offers what can be done', () => {
    const bench = new WatchedBench();
    bench.for(5);
    bench.for(1, { ...hotAt(600), load: blind('no conversion comes') });
    expect(bannerOf(bench.view)).toMatchObject({
      level: 'alarm', cause: 'engine', head: 'ALARM (engine): hot end, and 1 more', acknowledge: true, mute: true, unmute: false,
      rows: [{ level: 'ALARM', name: 'hot end', state: expect.stringMatching(/^since \d\d:\d\d:\d\d, not acknowledged$/) as string }, { level: 'WARNING', name: 'load cell' }],
    });
    bench.mute(15);
    expect(bannerOf(bench.view)).toMatchObject({ mute: false, unmute: true, rows: [{ state: expect.stringContaining('quiet for 2 min') as string }, { state: expect.stringContaining('quiet for 15 min') as string }] });
    bench.acknowledge();
    expect(bannerOf(bench.view)).toMatchObject({ acknowledge: false, rows: [{ state: expect.stringContaining('acknowledged by Ann') as string }, {}] });
    bench.for(5);
    expect(bannerOf(bench.view).level).toBeNull();
  });

  it('has words for every rule', () => {
    expect(Object.keys(alarmNames).sort()).toEqual([...ruleNames].sort());
    expect(alarmName('some_new_rule')).toBe('some new rule');
  });
});

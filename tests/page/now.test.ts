import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import type { ValueView, ValuesView } from '../../host/serve/bench.js';
import { valueUnits } from '../../host/serve/bench.js';
import { accessOf } from '../../host/page/src/lib/access.js';
import { padKey } from '../../host/page/src/lib/pad.js';
import { grown, samplesOf } from '../../host/page/src/lib/ring.js';
import type { Sample } from '../../host/page/src/lib/ring.js';
import { freshness, retry_ms } from '../../host/page/src/lib/stale.js';
import { choices, chosenOf, keptOf, kinds, preset, unitFor, written } from '../../host/page/src/lib/units.js';
import type { PageState } from '../../host/page/src/page_state.js';
import { choicesOn, hands, KEEP_PRESET_min, keepSteps_min, markBody, otherKeep, pages } from '../../host/page/src/screens/now/hands.js';
import { candidates } from '../../host/page/src/screens/now/curve_runs.js';
import { MARGIN, planeOf, step } from '../../host/page/src/screens/now/plane.js';
import { placeOf, pointWords, withPoint } from '../../host/page/src/screens/now/points.js';
import { rowOf, sentence, steadyLine } from '../../host/page/src/screens/now/view.js';
import { stateLine } from '../../host/page/src/state_line.js';
import type { LivePoint } from '../../host/serve/steady_desk.js';
import { durationOf } from '../../host/store/runs/when.js';
import { markPresets } from '../../host/store/runs/mark_presets.js';

const none: ValueView = { state: 'not_measured', value: null, u: null, U95: null, reason: 'no pulse for 4 s' };
const of = (value: number, U95: number, lacks: string | null = null): ValueView => ({ state: lacks === null ? 'measured' : 'unverified', value, u: U95 / 2, U95, reason: lacks });
const values = { boot_id: 1, tick: 1, utc_us: 1e12, u_us: 1, ...Object.fromEntries(Object.keys(valueUnits).map((n) => [n, of(1, 0.1)])) } as unknown as ValuesView;
const health: NonNullable<PageState['health']> = {
  status: 'live', reason: null, simulated: true, board: null, db: 'x', uptime_s: 1, version: '0', record: { state: 'recording', reason: null, waiting_rows: 0, lost_rows: 0, free_bytes: null },
};
const calm = { urgent: null, sound: null, alarms: [], states: [], blind: [], advises: '' };

describe('units on the page', () => {
  it('shows the same value in each unit', () => {
    const torque = (i: number) => written(0.0123, 0.00041, unitFor('torque_Nm', { ...preset, torque: i }));
    expect([torque(0), torque(1), torque(2)]).toEqual([
      { digits: '12.30', within: '0.41' }, { digits: '0.01230', within: '0.00041' }, { digits: '125.4', within: '4.2' },
    ]);
    const F = { ...preset, temperature: 1 };
    expect(written(100, 1, unitFor('hot_C', F))).toEqual({ digits: '212.0', within: '1.8' });
    expect(written(10, 1, unitFor('coolant_difference_K', F)).digits).toBe('18.0');
    expect(written(-0.00001, 0.01, unitFor('power_W', preset)).digits).toBe('0.000');
    expect(written(-3.2, 0.5, unitFor('power_W', preset)).digits).toBe('\u22123.20');
  });

  it('keeps what was chosen, and takes nonsense for the preset', () => {
    fc.assert(fc.property(fc.record({ torque: fc.nat(2), power: fc.nat(1), temperature: fc.nat(1), flow: fc.nat(1) }), (chosen) => {
      expect(chosenOf(keptOf(chosen))).toEqual(chosen);
    }), { seed: 1 });
    for (const kept of [null, '', '[]', '{"torque":7}', '{"torque":"lbf"}']) expect(chosenOf(kept)).toEqual(preset);
    expect(kinds.every((k) => choices[k].length > 1)).toBe(true);
  });
});

describe('what Now says', () => {
  it('never shows a number for what is not measured', () => {
    expect(rowOf('torque_Nm', none, preset, null)).toMatchObject({ digits: null, remark: 'not measured: no pulse for 4 s' });
    expect(rowOf('torque_Nm', null, preset, 'no connection to the daemon')).toMatchObject({ digits: null, remark: 'not measured: no connection to the daemon' });
    expect(rowOf('torque_Nm', { ...none, state: 'uncalibrated', reason: 'no calibration of the load cell' }, preset, null).remark).toBe('not calibrated: no calibration of the load cell');
    expect(rowOf('speed_rpm', of(600, 1.2, 'a zero'), preset, null)).toEqual({ name: 'Speed', unit: 'rev/min', digits: '600.0', within: '1.2', remark: 'unverified: a zero' });
    // From afar four figures; the interval keeps its own.
    expect(rowOf('speed_rpm', of(512.424, 0.049), preset, null, 4)).toMatchObject({ digits: '512.4', within: '0.049' });
    expect(rowOf('speed_rpm', of(51234.4, 0.049), preset, null, 4).digits).toBe('51234');
  });

  it('says the worst thing first', () => {
    const state = { freshness: 'live', health, watch: calm, values } as const;
    expect(sentence(state)).toEqual({ text: 'Nothing is known to be wrong.', level: 'calm' });
    const alarm = { ...calm, urgent: 'The hot end is above its limit.', alarms: [{ level: 'alarm' }] } as unknown as PageState['watch'];
    // What the alarms above the screen say is not said once more.
    expect(sentence({ ...state, watch: alarm })).toBeNull();
    expect(sentence({ ...state, watch: { ...calm, urgent: 'The hot end is still hot.' } })).toEqual({ text: 'The hot end is still hot.', level: 'note' });
    expect(sentence({ ...state, watch: alarm, freshness: 'lost' })?.text).toContain('No connection');
    expect(sentence({ ...state, freshness: 'stale' })?.level).toBe('alarm');
    expect(sentence({ ...state, watch: { ...calm, blind: [{ name: 'no_flow', why: 'no flow meter' }] } })?.text).toContain('no flow (no flow meter)');
    expect(sentence({ ...state, watch: null })?.text).toContain('look yourself');
    expect(sentence({ ...state, health: { ...health, record: { ...health.record, state: 'held', reason: 'the disk is full' } } })).toEqual({ text: 'Nothing is being recorded: the disk is full', level: 'alarm' });
    expect(sentence({ ...state, values: { ...values, torque_Nm: { ...none, state: 'uncalibrated', reason: 'see Calibrate' } } })?.text).toContain('Torque has no calibration yet');
  });

  it('names the criterion that takes longest, and how long', () => {
    const criterion = (name: string, holds: boolean, to_go_s: number | null) => ({ name, says: `change of ${name}`, unit: 'K/min', value: 4, limit: 1.5, holds, to_go_s });
    const line = (steady: PageState['steady']) => steadyLine({ steady, freshness: 'live', health });
    const share = { ...criterion('speed', false, 20), name: 'speed_slope_share_per_min', unit: '1/min', value: 0.1134, limit: 0.01 };
    expect(line({ steady: false, to_go_s: 20, criteria: [share] }).text).toBe('NOT STEADY: change of speed (11 of at most 1 %/min); 20 s to go');
    const turns = { ...share, name: 'turns', says: 'enough whole revolutions', unit: '', value: 12, limit: 30 };
    expect(line({ steady: false, to_go_s: null, criteria: [turns] }).text).toBe('NOT STEADY: enough whole revolutions (12 of 30); cannot be foretold');
    expect(line({ steady: false, to_go_s: 130, criteria: [criterion('speed', false, 20), criterion('the hot end', false, 130), criterion('torque', true, 0)] }).text).toBe('NOT STEADY: change of the hot end (4 of at most 1.5 K/min), and 1 more; 2 min to go');
    expect(line({ steady: false, to_go_s: null, criteria: [criterion('speed', false, null)] }).text).toContain('cannot be foretold');
    expect(line({ steady: true, to_go_s: 0, criteria: [] }).steady).toBe(true);
    expect(steadyLine({ steady: null, freshness: 'lost', health }).text).toContain('no connection');
  });

  it('tells of the link and the record', () => {
    const access = null;
    expect(stateLine({ freshness: 'live', health, board: null, access })).toMatchObject({ wrong: false });
    expect(stateLine({ freshness: 'lost', health, board: null, access })).toMatchObject({ wrong: true });
    expect(stateLine({ freshness: 'live', health: { ...health, record: { ...health.record, state: 'held', reason: 'full' } }, board: null, access }).text).toContain('NOT RECORDED: full');
    const replay = { may_change: false, why: 'a replay', watch_url: null, mark_url: null, replay: true };
    expect(stateLine({ freshness: 'live', health, board: null, access: replay }).text).toMatch(/^REPLAY.*not what happens now/);
  });
});

describe('how far it can be trusted', () => {
  it('is stale within 2 s of silence, lost without a connection, and waits without a board', () => {
    const heard = { connected: true, ever: true, silent_ms: 0, board_live: true };
    expect(freshness(heard)).toBe('live');
    // Looked at four times a second.
    expect(freshness({ ...heard, silent_ms: 1750 })).toBe('stale');
    expect(freshness({ ...heard, silent_ms: 60_000, board_live: false })).toBe('live');
    expect(freshness({ ...heard, connected: false })).toBe('lost');
    expect(freshness({ ...heard, connected: false, ever: false })).toBe('connecting');
  });

  it('tries again after 0.5 to 5 s', () => {
    fc.assert(fc.property(fc.nat(100), fc.double({ min: 0, max: 1, noNaN: true }), (tries, random) => {
      const ms = retry_ms(tries, random);
      expect(ms).toBeGreaterThanOrEqual(375);
      expect(ms).toBeLessThanOrEqual(5000);
    }), { seed: 1 });
  });

  it('changes nothing from elsewhere unless it is told that it may', () => {
    const unknown = { ok: false, error: 'NO_SUCH_PAGE', message: '' } as const;
    expect(accessOf(unknown, '127.0.0.1').may_change).toBe(true);
    expect(accessOf(unknown, '192.168.1.5').may_change).toBe(false);
    expect(accessOf({ ok: true, value: { may_change: false, why: 'no token', watch_url: 'http://x/', mark_url: null } }, '127.0.0.1')).toEqual({ may_change: false, why: 'no token', watch_url: 'http://x/', mark_url: null, replay: false });
  });
});

describe('strips', () => {
  const at = (t_s: number, v: number | null = 1): Sample => ({ t_s, values: [v] });
  it('never bridge a silence, keep so long and no more, and take nothing twice', () => {
    const strip = [at(1), at(1.5), at(6), at(6), at(5)].reduce<Sample[]>((all, x) => grown(all, x, 5), []);
    expect(strip).toEqual([at(1), at(1.5), at(2, null), at(6)]);
    expect(grown(strip, at(6.6), 5)[0]).toEqual(at(2, null));
  });
  it('know silence from a bench that runs fast', () => {
    const strip = ([[100, 1], [120, 1.5], [140, 2], [220, 4]] as const).map(([t_s, came_s]) => ({ ...at(t_s), came_s })).reduce<Sample[]>((all, x) => grown(all, x, 600), []);
    expect(strip.map((x) => x.t_s)).toEqual([100, 120, 140, 140.5, 220]);
  });
  it('are filled from what the daemon kept', () => {
    expect(samplesOf({ t_s: [1, 2], values: { a: { mean: [3, null] } } }, ['a', 'b'])).toEqual([{ t_s: 1, values: [3, null] }, { t_s: 2, values: [null, null] }]);
  });
});

describe('hands', () => {
  it('hear the pad whatever its lock says, and the row above the letters', () => {
    const key = (k: string, code: string, modified = false) => padKey({ key: k, code, modified });
    expect([key('End', 'Numpad1'), key('1', 'Numpad1'), key('1', 'Digit1'), key('&', 'Digit1'), key('+', 'NumpadAdd'), key('Enter', 'NumpadEnter'), key(',', 'NumpadDecimal'), key('Escape', 'Escape')]).toEqual(['1', '1', '1', null, '+', 'Enter', '.', '.']);
    expect([key('1', 'Digit1', true), key('a', 'KeyA'), key('End', 'End')]).toEqual([null, null, null]);
  });

  it('have one key each, and date a mark at the press', () => {
    expect(new Set(hands.map((x) => x.key)).size).toBe(hands.length);
    // By the bench's clock where it said what time it was; 4.5 s here may be minutes there.
    expect(markBody('oiled', { at_ms: 10_000, bench_utc_us: 1.7e15 + 250_000 }, 14_500)).toEqual({ text: 'oiled', at: '2023-11-14T22:13:20.250Z', source: 'page' });
    expect(markBody('oiled', { at_ms: 10_000, bench_utc_us: null }, 14_500)).toEqual({ text: 'oiled', ago_s: 4.5, source: 'page' });
    expect(markBody('oiled', { at_ms: 10_000, bench_utc_us: null }, 9_000)).toMatchObject({ ago_s: 0 });
  });

  it('reach each preset by its page and digit', () => {
    const all = Array.from({ length: pages(markPresets) }, (_, page) => choicesOn(markPresets, page).filter((c) => c.key !== '0').map((c) => c.says)).flat();
    expect(all).toEqual(markPresets);
    expect(choicesOn(['a'], 0)).toEqual([{ key: '1', says: 'a' }]);
  });

  it('change how much is kept by steps that the daemon takes', () => {
    expect([otherKeep(KEEP_PRESET_min, true), otherKeep(KEEP_PRESET_min, false), otherKeep(120, true), otherKeep(1, false)]).toEqual([20, 10, 120, 1]);
    for (const m of keepSteps_min) expect(durationOf(`${m}min`)).toBe(m * 60e6);
  });
});

describe('points as they come about', () => {
  const point = (number: number, more: object = {}): LivePoint => ({ number, taken: null, retired: false, values: { speed_rpm: { value: 812.34, U95: 0.08 }, torque_Nm: { value: 0.009844, U95: 0.000021 } }, ...more }) as unknown as LivePoint;

  it('are said in a word, in the unit that is chosen', () => {
    expect(pointWords(point(7), preset)).toBe('point 7: 812.3 rev/min, 9.844 mN\u00b7m');
    expect(pointWords(point(8, { taken: 1 }), { ...preset, torque: 1 })).toBe('point 8 by hand: 812.3 rev/min, 0.010 N\u00b7m');
    expect(pointWords(point(8, { taken: 1, retired: true }), preset)).toBe('point 8 was taken back');
    expect(pointWords(point(9, { values: { speed_rpm: { value: 500, U95: 1 }, torque_Nm: { value: null, reason: 'no calibration' } } }), preset)).toContain('no torque (no calibration)');
  });

  it('stand on the plane until they are taken back, each once', () => {
    const three = [point(1), point(2, { taken: 4 }), point(3)].reduce<LivePoint[]>((all, p) => withPoint(all, p), []);
    expect(withPoint(three, point(2, { taken: 4 })).map((p) => p.number)).toEqual([1, 2, 3]);
    expect(withPoint(three, point(2, { taken: 4, retired: true })).map((p) => p.number)).toEqual([1, 3]);
    expect(placeOf(point(1))).toEqual({ number: 1, speed_rpm: 812.34, torque_Nm: 0.009844, U95_Nm: 0.000021 });
    expect(placeOf(point(1, { values: { speed_rpm: { value: null }, torque_Nm: { value: 1 } } }))).toBeNull();
  });
});

describe('the last good curve', () => {
  const run = (run_id: number, more: object = {}) => ({ run_id, name: `r${run_id}`, archived: 0, build_id: 1, build: 'A', going_on: 0, from_utc_us: run_id * 1e6, ...more }) as const;
  it('is looked for in the newest runs of the build in use, that are over and not put away', () => {
    const runs = [run(1), run(2, { build_id: 2 }), run(3), run(4, { archived: 1 }), run(5, { going_on: 1 }), run(6, { from_utc_us: 2e6 })] as Parameters<typeof candidates>[0];
    const ids = (builds: Parameters<typeof candidates>[1]) => candidates(runs, builds).map((r) => r.run_id);
    expect(ids([{ build_id: 1, current: 1 }, { build_id: 2, current: 0 }])).toEqual([3, 6, 1]);
    expect(ids([{ build_id: 1, current: 0 }, { build_id: 2, current: 1 }])).toEqual([2]);
    expect(ids([])).toEqual([3, 6, 2, 1]);
  });
});

describe('the torque-speed plane', () => {
  it('keeps everything inside, with the band around its curve', () => {
    const point = fc.record({ speed_rpm: fc.double({ min: 0, max: 5000, noNaN: true }), torque_Nm: fc.double({ min: -0.01, max: 0.5, noNaN: true }) });
    fc.assert(fc.property(point, fc.array(point, { maxLength: 20 }), (live, trail) => {
      const band = trail.map((p) => ({ ...p, U95_Nm: 0.001 }));
      const plane = planeOf({ live, trail, band, points: band, fresh: band.map((p, i) => ({ ...p, number: i + 1 })) }, 400, 300, 1000);
      expect(plane.fresh.filter((p) => p.newest).map((p) => p.number)).toEqual(band.length === 0 ? [] : [band.length]);
      for (const { x, y } of [plane.live ?? { x: -1, y: -1 }, ...plane.points, ...plane.fresh]) {
        expect(x).toBeGreaterThanOrEqual(0);
        expect(x).toBeLessThanOrEqual(400);
        expect(y).toBeGreaterThanOrEqual(0);
        expect(y).toBeLessThanOrEqual(300);
      }
      expect(plane.x.length).toBeGreaterThan(1);
      expect(plane.x.length).toBeLessThan(14);
    }), { seed: 1 });
    expect(planeOf({ live: null, trail: [], band: [], points: [], fresh: [] }, 400, 300, 1).live).toBeNull();
    expect([step(10), step(99), step(0.7)]).toEqual([2, 20, 0.2]);
  });

  it('has room for each of its numbers, as wide as those of 12 px are', () => {
    // Of Helvetica, Arial and Liberation Sans alike: digits 0.556 of the size, a dot 0.278, a minus 0.333.
    const long = (value: number): number => Array.from(String(value)).reduce((sum, c) => sum + 12 * (c === '.' ? 0.278 : c === '-' ? 0.333 : 0.556), 0);
    const most = fc.record({ speed_rpm: fc.integer({ min: 0, max: 20_000 }), torque_Nm: fc.integer({ min: -20_000, max: 900_000 }).map((uNm) => uNm / 1e6), width: fc.integer({ min: 250, max: 700 }), factor: fc.constantFrom(...choices.torque.map((u) => u.factor)) });
    fc.assert(fc.property(most, ({ speed_rpm, torque_Nm, width, factor }) => {
      const plane = planeOf({ live: { speed_rpm, torque_Nm }, trail: [], band: [], points: [], fresh: [] }, width, 300, factor);
      for (const { at, value } of plane.x) {
        expect(at - long(value) / 2).toBeGreaterThanOrEqual(0);
        expect(at + long(value) / 2).toBeLessThanOrEqual(width);
      }
      for (const { at, value } of plane.y) {
        expect(long(value)).toBeLessThanOrEqual(MARGIN.left - 6);
        expect(at - 6).toBeGreaterThanOrEqual(0);
        expect(at + 4).toBeLessThanOrEqual(300 - 18);
      }
    }), { seed: 1, numRuns: 500 });
  });
});

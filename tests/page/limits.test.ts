import { describe, expect, it } from 'vitest';

import { changedTogether, fieldWords, titleOf, wishesOf, written } from '../../host/page/src/screens/limits/view.js';
import type { Row } from '../../host/page/src/screens/limits/view.js';
import { changedLimits, limitNames, limitRows, limitsOf, pairOf } from '../../host/watch/limits.js';

const rows: readonly Row[] = limitNames.map((name) => ({ name, value: limitRows[name].preset, told: false, pair: pairOf(name), ...limitRows[name] }));
const row = (name: string): Row => rows.find((r) => r.name === name) as Row;

describe('a limit that is changed', () => {
  it('comes with the other of its pair, the warning first, whichever was pressed', () => {
    for (const name of ['hot_warn_C', 'hot_alarm_C']) expect(changedTogether(rows, row(name)).map((r) => r.name)).toEqual(['hot_warn_C', 'hot_alarm_C']);
    expect(changedTogether(rows, row('touch_C')).map((r) => r.name)).toEqual(['touch_C']);
    expect(titleOf(changedTogether(rows, row('no_flow_alarm_s')))).toBe('Change no flow warn s and no flow alarm s');
    // Those of a steady point have none.
    expect(changedTogether([{ ...row('hot_warn_C'), pair: undefined } as unknown as Row, row('hot_alarm_C')], { ...row('touch_C'), pair: undefined } as unknown as Row)).toEqual([]);
    expect(fieldWords(row('hot_warn_C'))).toBe('hot end: warning from here, in C, from 50 to 1200; empty: the preset, 500 C');
  });

  it('pairs are whole: each is the other of its other, of one unit', () => {
    for (const name of limitNames) {
      const pair = pairOf(name);
      if (pair !== null) expect([pairOf(pair), limitRows[pair].unit]).toEqual([name, limitRows[name].unit]);
    }
    expect(limitNames.filter((name) => pairOf(name) !== null)).toHaveLength(12);
  });

  it('is told only where it was written otherwise than it stood', () => {
    const told: Row[] = [{ ...row('hot_warn_C'), value: 400, told: true }, row('hot_alarm_C')];
    expect(told.map(written)).toEqual(['400', '']);
    expect(wishesOf(told, ['400', ''])).toEqual({ ok: false, says: 'Nothing was changed: it stands as it did.' });
    expect(wishesOf(told, ['', '450,5'])).toEqual({ ok: true, limits: { hot_warn_C: null, hot_alarm_C: 450.5 }, done: 'hot warn C and hot alarm C were changed.' });
    expect(wishesOf(told, ['400', '450'])).toEqual({ ok: true, limits: { hot_alarm_C: 450 }, done: 'hot alarm C was changed.' });
    expect(wishesOf(told, ['400', 'warm'])).toEqual({ ok: false, says: 'hot alarm C must be a number.' });
  });

  it('goes below the old warning in one step with it, and not alone', () => {
    const alone = wishesOf([row('hot_alarm_C')], ['450']);
    const both = wishesOf(changedTogether(rows, row('hot_alarm_C')), ['400', '450']);
    expect(() => changedLimits(limitsOf(), alone.ok ? alone.limits : {})).toThrow('change both at once');
    expect(changedLimits(limitsOf(), both.ok ? both.limits : {})).toMatchObject({ hot_warn_C: 400, hot_alarm_C: 450 });
  });
});

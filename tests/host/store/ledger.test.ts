import fc from 'fast-check';
import { describe, expect, it } from 'vitest';

import { changeWarning, differences, partsChanged } from '../../../host/store/ledger/diff.js';
import type { Part } from '../../../host/store/ledger/diff.js';
import { defaultName } from '../../../host/store/runs/names.js';
import { durationOf, momentOf } from '../../../host/store/runs/when.js';

const part = (name: string, more: Partial<Part> = {}): Part => ({ name, part_id: 1, material: 'balsa', mass_g: 3, dimensions: '', note: '', photo: '', made_by: '', made_on: '', ...more });

describe('what differs between two builds', () => {
  it('is what makes another engine of it, part by part', () => {
    expect(differences([part('a'), part('b')], [part('a', { note: 'x', photo: 'p', made_by: 'me', made_on: '1 May' }), part('b')])).toEqual([]);
    const all = differences([part('a'), part('b'), part('c')], [part('a', { material: 'foam', mass_g: 2 }), part('b', { part_id: 2 }), part('d')]);
    expect(all.map((d) => `${d.part} ${d.what}`)).toEqual(['a material', 'a mass_g', 'b piece', 'c removed', 'd added']);
    expect(partsChanged(all)).toBe(4);
    expect(changeWarning(all)).toContain('4 parts differ (a, b, c, d)');
    expect(changeWarning(all.slice(0, 2))).toBeNull();
  });

  it('the other way round has as many, and none with itself', () => {
    const list = fc.uniqueArray(fc.record({ name: fc.constantFrom('a', 'b', 'c', 'd'), material: fc.constantFrom('x', 'y'), mass_g: fc.constantFrom(null, 1, 2), part_id: fc.constantFrom(1, 2) }), { selector: (p) => p.name }).map((ps) => ps.map((p) => part(p.name, p)));
    fc.assert(fc.property(list, list, (a, b) => {
      expect(differences(a, a)).toEqual([]);
      expect(differences(b, a).length).toBe(differences(a, b).length);
    }), { seed: 5, numRuns: 200 });
  });
});

describe('times as people say them', () => {
  const at = (text: string): number => Date.parse(text) * 1000;
  const frame = { now_us: at('2026-05-04T12:00Z'), from_us: at('2026-05-03T10:00Z'), to_us: at('2026-05-03T11:00Z') };
  it.each([
    ['now', '2026-05-04T12:00Z'], ['+2min', '2026-05-03T10:02Z'], ['-90s', '2026-05-03T10:58:30Z'], ['10:20', '2026-05-03T10:20Z'], ['9:05:07', '2026-05-03T09:05:07Z'],
    ['2026-05-01T10:20', '2026-05-01T10:20Z'], ['2026-05-01T10:20+02:00', '2026-05-01T08:20Z'],
  ])('%s is %s', (word, utc) => expect(momentOf(word, frame)).toBe(at(utc)));
  it.each(['', 'soon', '25:00', '+', '-5', '2026-05-01', '10:20pm'])('"%s" is refused by name', (word) => expect(() => momentOf(word, frame)).toThrow('must be a'));
  it('a duration is a sum of its parts', () => {
    expect([durationOf('20s'), durationOf('15min'), durationOf('1h30min'), durationOf('0.5 h')]).toEqual([20e6, 900e6, 5400e6, 1800e6]);
    for (const word of ['', '5', 'min', '5d', '5min later', '-5s']) expect(() => durationOf(word)).toThrow('must be a duration');
  });
  it('a name not told is the day and the next number of it', () => {
    expect(defaultName(at('2026-05-03T23:59Z'), new Set(['2026-05-03 1', '2026-05-03 3']))).toBe('2026-05-03 2');
  });
});

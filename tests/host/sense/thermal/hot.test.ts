import { describe, expect, it } from 'vitest';

import { typeK_mV } from '../../../../host/sense/physics/type_k.js';
import { sheetOf } from '../../../../host/sense/sheet.js';
import { hotModel } from '../../../../host/sense/thermal/hot_model.js';
import { hotTemperature } from '../../../../host/sense/thermal/hot_temperature.js';
import type { HotTemperature } from '../../../../host/sense/thermal/hot_temperature.js';
import { expanded } from '../../../../host/sense/uncertainty/coverage.js';
import { difference, known, u } from '../../../../host/sense/uncertainty/quantity.js';
import type { Quantity } from '../../../../host/sense/uncertainty/quantity.js';
import { published } from '../../../published/published.js';
import { limitOf, normalOf, partU, seeded, spread, wordAt, wordOf } from './support.js';

const ids = { rig: 'rig 1', couple: 'rig 1, couple 1', span: 'boot 1, tick 5' };
const sheet = sheetOf();
const bare = hotModel(2);
const every = (words: readonly number[]): { t_s: number; word: number }[] => words.map((word, i) => ({ t_s: i * 0.25, word }));
const q = (h: HotTemperature): Quantity => {
  if (h.quantity === null) throw new Error(`${h.state}: ${h.reason}`);
  return h.quantity;
};
const rows = published('its90-type-k-1C.csv').trim().split('\n').slice(2).map((l) => l.split(',').map(Number) as [number, number]);

describe('the hot end', () => {
  it('is right at every published row of type K from -40 to 1200 C, to a step of the converter', () => {
    for (const [t_C, e_mV] of rows.filter(([t]) => t >= -39 && t <= 1199)) {
      const junction_C = 23.4375;
      const word = wordOf(e_mV - typeK_mV(junction_C), junction_C);
      // Half a step of 0.25 K, as voltage over the least slope in the span (0.035 mV/K), and 0.5 uV of rounding in the table.
      expect(Math.abs(q(hotTemperature(every([word]), bare, sheet, ids)).value - t_C)).toBeLessThan(0.165);
    }
  });

  it('differs from what the converter says by what hardware-notes tell: 4.2 K at 300 C, 6.2 K at 800 C', () => {
    const off = (t_C: number): number => (wordAt(t_C, 0) >> 18) / 4 - q(hotTemperature(every([wordAt(t_C, 0)]), bare, sheet, ids)).value;
    expect(Math.abs(off(300) - -4.2)).toBeLessThan(0.25);
    expect(Math.abs(off(800) - 6.2)).toBeLessThan(0.25);
  });

  it('has the tolerance of its class and the converter limits in its budget', () => {
    const at = (t_C: number, c: 1 | 2): Quantity => q(hotTemperature(every([wordAt(t_C, 25)]), hotModel(c), sheet, ids));
    expect(partU(at(100, 2), 'tolerance')).toBeCloseTo(2.5 / Math.sqrt(3), 6);
    expect(partU(at(600, 2), 'tolerance')).toBeCloseTo((600 * 0.0075) / Math.sqrt(3), 2);
    expect(partU(at(600, 1), 'tolerance')).toBeCloseTo((600 * 0.004) / Math.sqrt(3), 2);
    // 2 K of the converter at 41.276 uV/K, where type K has 42.5 uV/K.
    expect(partU(at(600, 2), 'converter at the couple')).toBeCloseTo(((2 * 41.276) / 42.5) / Math.sqrt(3), 2);
    expect(partU(at(900, 2), 'converter at the couple')).toBeGreaterThan(1.9 * partU(at(600, 2), 'converter at the couple'));
    // 40.5 uV/K at 25 C.
    expect(partU(at(600, 2), 'junction')).toBeCloseTo(((2 * 40.5) / 42.5) / Math.sqrt(3), 1);
    expect(partU(at(100, 2), "converter's step")).toBeCloseTo(0.25 / Math.sqrt(12), 2);
  });

  it('cancels couple and converter between two readings that are close', () => {
    const a = q(hotTemperature(every([wordAt(500, 25)]), bare, sheet, ids));
    const b = q(hotTemperature(every([wordAt(510, 25)]), bare, sheet, { ...ids, span: 'boot 1, tick 9' }));
    const d = difference(b, a);
    expect(u(a)).toBeGreaterThan(2);
    expect(u(d)).toBeLessThan(0.3);
    const other = q(hotTemperature(every([wordAt(510, 25)]), bare, sheet, { rig: 'rig 2', couple: 'rig 2, couple 1', span: 'x' }));
    expect(u(difference(other, a))).toBeGreaterThan(1.3 * u(a));
  });

  it('after a check in boiling water knows better near it, and less the further away', () => {
    const check = { true_C: known(99.6, 'C', 0.1, { id: 'boiling', says: 'boiling point', kind: 'systematic' }), read_C: q(hotTemperature(every(Array.from({ length: 40 }, () => wordAt(101, 25))), bare, sheet, ids)) };
    const model = hotModel(2, [check]);
    const at = (t_C: number): Quantity => q(hotTemperature(every([wordAt(t_C, 25)]), model, sheet, { ...ids, span: 'later' }));
    expect(at(101).value).toBeCloseTo(99.6, 1);
    expect(u(at(101))).toBeLessThan(0.25);
    expect(u(at(200))).toBeGreaterThan(2 * u(at(101)));
    expect(u(at(500))).toBeGreaterThan(u(at(200)));
    expect(u(at(300))).toBeLessThan(u(q(hotTemperature(every([wordAt(300, 25)]), bare, sheet, ids))));
  });

  it('by two checks takes offset and slope, and refuses two at one place', () => {
    const check = (t: number, read: number): { true_C: Quantity; read_C: Quantity } => ({
      true_C: known(t, 'C', 0.1, { id: `bath ${t}`, says: 'bath', kind: 'systematic' }),
      read_C: q(hotTemperature(every([wordAt(read, 25)]), bare, sheet, { ...ids, span: `check ${t}` })),
    });
    const model = hotModel(2, [check(0, 1), check(100, 102)]);
    const at = (t_C: number): Quantity => q(hotTemperature(every([wordAt(t_C, 25)]), model, sheet, ids));
    expect(Math.abs(at(51.5).value - 50)).toBeLessThan(0.2);
    expect(u(at(51.5))).toBeLessThan(0.6);
    expect(() => hotModel(2, [check(99, 100), check(100, 101)])).toThrow('at least 50');
  });

  describe('says what is wrong, never a number', () => {
    const good = wordAt(300, 25);
    const state = (words: readonly number[], moved = false): string => {
      const h = hotTemperature(every(words), bare, sheet, ids, moved);
      if (h.state !== 'read') {
        expect(h.quantity).toBeNull();
        expect(h.reason).toMatch(/\w{3}/);
      }
      return h.state;
    };
    it.each([
      ['open', [(0x1fff << 18) | 0x10001]],
      ['short_gnd', [0x10002]],
      ['short_vcc', [0x10004]],
      ['dead', [0]],
      ['absent', [0xffffffff]],
      ['invalid', [good | 8]],
      ['none', []],
      ['out_of_range', [wordOf(typeK_mV(1250), 25)]],
      ['out_of_range', [wordOf(-3, 25)]],
    ])('%s', (wanted, words) => {
      expect(state(words.map((w) => w >>> 0))).toBe(wanted);
    });
    it('a fault that comes and goes', () => {
      expect(state([good, 0, good, good])).toBe('dead');
      expect(state([...Array.from({ length: 30 }, () => good + 0), 0, good])).toBe('read');
      expect(state([good, 0])).toBe('dead');
    });
    it('stuck: no change for 10 s while something moved, or for longer than its noise allows', () => {
      const same = Array.from({ length: 60 }, () => good);
      expect(state(same)).toBe('read');
      expect(state(same, true)).toBe('stuck');
      expect(state(same.slice(0, 30), true)).toBe('read');
      const lively = Array.from({ length: 40 }, (_, i) => wordAt(300 + (i % 2), 25));
      expect(state([...lively, ...same])).toBe('stuck');
      expect(state([...lively, ...same.slice(0, 30)])).toBe('read');
    });
  });

  it('errs by as much as it says, over couples and converters within their limits', () => {
    const random = seeded(20261125);
    const normal = normalOf(random);
    const limit = limitOf(random);
    const z: number[] = [];
    let held = 0;
    const n = 600;
    for (let i = 0; i < n; i++) {
      const t_C = 60 + 600 * random();
      const junction_C = 15 + 25 * random();
      const couple_K = limit(Math.max(2.5, 0.0075 * t_C));
      const at_couple_K = limit(2);
      const own_K = limit(2);
      const words = Array.from({ length: 40 }, () => wordOf(typeK_mV(t_C + couple_K) - typeK_mV(junction_C), junction_C, own_K, at_couple_K + 0.2 * normal()));
      const h = q(hotTemperature(every(words), bare, sheet, ids));
      z.push((h.value - t_C) / u(h));
      if (Math.abs(h.value - t_C) <= expanded(h).U) held++;
    }
    const { mean, sd } = spread(z);
    expect(Math.abs(mean)).toBeLessThan(3 / Math.sqrt(n));
    expect(sd).toBeGreaterThan(0.92);
    expect(sd).toBeLessThan(1.08);
    expect(held / n).toBeGreaterThan(0.925);
    expect(held / n).toBeLessThan(0.985);
  });
});

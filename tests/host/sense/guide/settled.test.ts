import { describe, expect, it } from 'vitest';

import { judge } from '../../../../host/sense/guide/settled.js';
import type { Sample, SettleTerms } from '../../../../host/sense/guide/settled.js';
import { normals } from './support/noise.js';

const us_per_tick = 0.5;
const terms: SettleTerms = { us_per_tick, noise_count: 38, load_count: 200_000, turning: false };

/** `seconds` of conversions at `rate_Hz`, each what `f` says of its time, plus noise. */
function conversions(seconds: number, f: (t_s: number) => number, { rate_Hz = 83.1, noise = 38, seed = 1, flags = 0 } = {}): Sample[] {
  const random = normals(seed);
  return Array.from({ length: Math.round(seconds * rate_Hz) }, (_, i) => {
    const t_s = i / rate_Hz;
    return { tick: Math.round((t_s * 1e6) / us_per_tick) + 1000, count: Math.round(f(t_s) + noise * random()), flags };
  });
}

const reasonOf = (samples: readonly Sample[], other: Partial<SettleTerms> = {}): string => {
  const verdict = judge(samples, { ...terms, ...other });
  return verdict.settled ? 'settled' : `${verdict.reason}: ${verdict.why}`;
};

describe('a reading is settled', () => {
  it('after three quiet seconds at 83 a second and at 10, with the mean of that stretch', () => {
    for (const [rate_Hz, noise] of [[83.1, 38], [11.85, 21]] as const) {
      const verdict = judge(conversions(4, () => 5000, { rate_Hz, noise }), { ...terms, noise_count: noise });
      if (!verdict.settled) throw new Error(verdict.why);
      expect(Math.abs(verdict.count - 5000)).toBeLessThan(4 * verdict.u_count);
      expect(verdict.u_count).toBeGreaterThan((0.6 * noise) / Math.sqrt(verdict.n));
      expect(((verdict.tick_to - verdict.tick_from) * us_per_tick) / 1e6).toBeGreaterThan(2.8);
    }
  });

  it('is found in nearly all quiet stretches, whatever their noise, without a zero to compare', () => {
    for (const noise of [0.2, 5, 38, 400]) {
      const found = Array.from({ length: 60 }, (_, seed) => judge(conversions(4, () => -38_150, { noise, seed }), { ...terms, noise_count: null, load_count: 0 }).settled);
      expect(found.filter(Boolean).length, `noise ${noise}`).toBeGreaterThan(50);
    }
  });

  it('leaves out what came before the load changed, so that the step is not in the mean', () => {
    const verdict = judge(conversions(8, (t) => (t < 4 ? 0 : 210_000)), terms);
    if (!verdict.settled) throw new Error(verdict.why);
    expect(Math.abs(verdict.count - 210_000)).toBeLessThan(15);
  });
});

describe('a reading that is not settled says why', () => {
  it.each<[string, Sample[], Partial<SettleTerms>, RegExp]>([
    ['nothing came', [], {}, /^no_reading/],
    ['a mass that is being lowered', conversions(4, (t) => 20_000 * t), {}, /^moving: still moving (19|20)\d\d\d counts\/s \(limit \d+\)$/],
    ['creep far beyond what the noise shows', conversions(4, (t) => 100 * t), {}, /^(moving: still moving (8|9|10|11)\d counts|moving: still moving 1\d\d counts)/],
    ['a mass that swings', conversions(4, (t) => 900 * Math.sin(2 * Math.PI * 2.1 * t)), {}, /^swinging: swinging (8[5-9]\d|9[0-4]\d) counts at 2\.[01] Hz: hold the mass still$/],
    ['a shaken bench', conversions(4, () => 0, { noise: 152 }), {}, /^noisy: noise (3|4)\.\dx that of the zero/],
    ['a load that has just come to rest', conversions(5.3, (t) => (t < 4 ? 0 : 210_000)), {}, /^short: only 1\.\d s of quiet, 3 s needed$/],
    ['a session that has just begun', conversions(1.2, () => 0), {}, /^short: only 1\.\d s of quiet/],
    ['a turning engine', conversions(4, () => 0), { turning: true }, /^turning: engine turning/],
    ['a converter that has just got power', [...conversions(4, () => 0), { tick: 1e9, count: 5, flags: 8 }], {}, /^settling: settling after power-up/],
    ['an end of the range', [{ tick: 1, count: 8_388_607, flags: 4 }], {}, /^saturated/],
    ['a load near the end of the range', conversions(4, () => 8_300_000), {}, /^overload: overload: 8\d{6} counts/],
    ['a converter that is not there', [{ tick: 1, count: 0, flags: 2 }], {}, /^fault: the converter sends nothing/],
  ])('%s', (_what, samples, other, pattern) => {
    expect(reasonOf(samples, other)).toMatch(pattern);
  });

  it('and starts again after a fault: what came before it does not count', () => {
    const before = conversions(4, () => 0);
    const fault: Sample = { tick: 9e6, count: 0, flags: 1 };
    const after = conversions(1.5, () => 0, { seed: 3 }).map((s) => ({ ...s, tick: s.tick + 9e6 }));
    expect(reasonOf([...before, fault, ...after])).toMatch(/^short/);
  });

  it('by limits that go with the noise and the load, not by counts', () => {
    const creeping = (f: number) => conversions(4, (t) => 30 * f * t, { noise: 38 * f });
    // The same bench with another gain.
    expect(reasonOf(creeping(1), { load_count: 20_000 })).toMatch(/^moving/);
    expect(reasonOf(creeping(20), { noise_count: 38 * 20, load_count: 400_000 })).toMatch(/^moving/);
    expect(reasonOf(creeping(1), { noise_count: 38, load_count: 2e6 })).toBe('settled');
  });
});

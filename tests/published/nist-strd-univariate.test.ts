import { describe as suite, expect, it } from 'vitest';

import { describe } from '../../host/sense/fit/describe.js';
import { digitsOf, published } from './published.js';

interface Set {
  readonly certified: { readonly mean: string; readonly sd: string; readonly lag1: string };
  readonly data: string | { readonly first: string; readonly then_500_times: readonly [string, string] };
}
const { sets } = JSON.parse(published('nist-strd-univariate.json')) as { sets: Record<string, Set> };

function readingsOf({ data }: Set): number[] {
  if (typeof data === 'string') return data.split(' ').map(Number);
  const pair = data.then_500_times.map(Number);
  return [Number(data.first), ...Array.from({ length: 500 }, () => pair).flat()];
}

/**
 * Digits that a double leaves to the scatter of readings: 10000000.1 is stored to 1e-9, so
 * the 0.1 between readings is known to 8 digits and no more, however the sums are made.
 */
const keptDigits = (mean: number, sd: number): number => -Math.log10((Number.EPSILON * Math.abs(mean)) / sd);

/** NIST StRD, univariate summary statistics. */
suite('NIST StRD univariate', () => {
  it.each(Object.entries(sets))('%s to the digits of a double', (_, set) => {
    const { mean, sd, lag1 } = describe(readingsOf(set));
    expect(digitsOf(mean, set.certified.mean)).toBeGreaterThan(14.5);
    const kept = keptDigits(Number(set.certified.mean), Number(set.certified.sd));
    expect(digitsOf(sd ?? 0, set.certified.sd)).toBeGreaterThan(Math.min(14.5, kept));
    expect(digitsOf(lag1 ?? 0, set.certified.lag1)).toBeGreaterThan(Math.min(14.5, kept));
  });

  it('has eight sets', () => {
    expect(Object.keys(sets)).toEqual(['Lew', 'Lottery', 'Mavro', 'Michelso', 'NumAcc1', 'NumAcc2', 'NumAcc3', 'NumAcc4']);
  });
});

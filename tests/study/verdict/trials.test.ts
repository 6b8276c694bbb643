import { describe, expect, it } from 'vitest';

import { rulesOf, trial } from './trials.js';
import type { Counts } from './trials.js';

describe('the study of verdicts', () => {
  const few = [0, 0.02, 0.05, 0.1].flatMap((gain) => [true, false].map((ledger): Counts => trial(gain, ledger, 60, 9)));

  it('counts every pair once, and is the same for the same seed', () => {
    for (const c of few) expect(c.better + c.worse + c.same + c.cannot_tell).toBeCloseTo(1, 9);
    expect(trial(0.05, true, 20, 4)).toEqual(trial(0.05, true, 20, 4));
    expect(few.find((c) => c.gain === 0.1 && c.ledger)?.better).toBeGreaterThan(0.9);
  });

  it('fails a rule that is broken', () => {
    const broken = few.map((c) => (c.gain === 0 ? { ...c, better: 0.2 } : { ...c, covered_3: 0.9 }));
    const failed = rulesOf(broken).filter((r) => !r.holds).map((r) => r.rule.slice(0, 3));
    expect(failed).toContain('(a)');
    expect(failed).toContain('(d)');
  });
});

import { describe, expect, it } from 'vitest';

import { falseCalls, levels } from '../../host/reduce/verdict/looks.js';

/**
 * Looks at equal steps of information. Bounds for an overall two-sided 5 %: S. J. Pocock, Biometrika 64 (1977) 191, constant nominal
 * levels, and P. C. O'Brien and T. R. Fleming, Biometrics 35 (1979) 549. Figures from memory of the tables in C. Jennison and
 * B. W. Turnbull, "Group Sequential Methods" (2000), tables 2.1 and 2.3.
 */
const pocock = [[1, 1.96], [2, 2.178], [3, 2.289], [4, 2.361], [5, 2.413], [6, 2.453]] as const;
const obrienFleming = [[2, 1.977], [3, 2.004], [4, 2.024], [5, 2.04], [6, 2.053]] as const;
/** Five tests at 5 % each find a difference that is not there in 14.2 % of cases (Armitage, McPherson and Rowe 1969; from memory). */
const repeated = [[1, 0.05], [2, 0.083], [3, 0.107], [4, 0.126], [5, 0.142]] as const;

describe('levels of a planned sequence of looks', () => {
  it('are those of Pocock', () => {
    for (const [looks, c] of pocock) expect(falseCalls(steps(looks), steps(looks).map(() => c), 2)).toBeCloseTo(0.05, 3);
    expect(levels({ first_n: 1, last_n: 5, alpha: 0.05 }, 'constant', 2)[0]).toBeCloseTo(0.0158, 4);
  });

  it('are those of O\'Brien and Fleming', () => {
    for (const [looks, c] of obrienFleming) expect(falseCalls(steps(looks), steps(looks).map((n) => c * Math.sqrt(looks / n)), 2)).toBeCloseTo(0.05, 3);
  });

  it('are needed: a repeated test at 5 % is wrong as often as is published', () => {
    for (const [looks, p] of repeated) expect(falseCalls(steps(looks), steps(looks).map(() => 1.959964), 2)).toBeCloseTo(p, 3);
  });

  it('use up the whole of what is allowed, one-sided and two-sided, from a first look at three', () => {
    for (const spending of ['constant', 'late'] as const) {
      for (const sides of [1, 2] as const) {
        const p = levels({ first_n: 3, last_n: 8, alpha: 0.05 }, spending, sides);
        expect(p).toHaveLength(6);
        expect(Math.max(...p)).toBeLessThan(0.05);
        if (spending === 'late') expect(p[5]).toBeGreaterThan(10 * (p[0] ?? 1));
      }
    }
  });
});

const steps = (looks: number): number[] => Array.from({ length: looks }, (_, i) => i + 1);

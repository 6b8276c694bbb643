import { describe, expect, it } from 'vitest';

import { mainEffects } from '../../../../host/reduce/verdict/effects.js';
import type { LedgerBuild } from '../../../../host/reduce/verdict/effects.js';
import { normalsFrom, seeded } from '../../../support/random.js';

const next = seeded(77);
const normal = normalsFrom(next);
const truth: Readonly<Record<string, number>> = { 'regenerator steel wool': 0.12, 'displacer balsa': 0.04, 'flywheel heavy': 0 };

function build(name: string, parts: Readonly<Record<string, string>>, runs: number, scatter = 0.03): LedgerBuild {
  const gain = Object.entries(parts).reduce((s, [part, state]) => s + Math.log1p(truth[`${part} ${state}`] ?? 0), 0);
  return { name, parts, results: Array.from({ length: runs }, () => 1.3 * Math.exp(gain + scatter * normal())) };
}
const old = { regenerator: 'none', displacer: 'foam', flywheel: 'light' };
const four = (runs: number, scatter?: number): LedgerBuild[] => [
  build('1', old, runs, scatter),
  build('2', { ...old, regenerator: 'steel wool' }, runs, scatter),
  build('3', { ...old, displacer: 'balsa' }, runs, scatter),
  build('4', { regenerator: 'steel wool', displacer: 'balsa', flywheel: 'light' }, runs, scatter),
];

describe('effects over the ledger', () => {
  it('are those of the parts, largest first, within what they say', () => {
    let held = 0;
    const trials = 200;
    for (let i = 0; i < trials; i++) {
      const { effects, entangled } = mainEffects(four(3));
      expect(entangled).toEqual([]);
      for (const { changes, share, interval95 } of effects) {
        const true_share = truth[`${changes[0]?.part} ${changes[0]?.to}`] ?? NaN;
        expect(share).toBeGreaterThan(-0.2);
        if (interval95[0] <= true_share && interval95[1] >= true_share) held += 0.5;
      }
    }
    expect(held / trials).toBeGreaterThan(0.91);
    expect(held / trials).toBeLessThan(0.985);
    const sure = mainEffects(four(4, 0.001));
    expect(sure.effects[0]?.changes).toEqual([{ part: 'regenerator', from: 'none', to: 'steel wool' }]);
    expect(sure.effects[0]?.share).toBeCloseTo(0.12, 2);
    expect(sure.effects[0]?.runs).toBe(8);
    expect(sure.scatter?.dof).toBe(12);
  });

  it('that were never made apart are given together', () => {
    const both = { regenerator: 'steel wool', displacer: 'balsa', flywheel: 'light' };
    const { effects } = mainEffects([build('1', old, 3, 1e-4), build('2', both, 3, 1e-4), build('3', { ...old, flywheel: 'heavy' }, 2, 1e-4)]);
    expect(effects).toHaveLength(2);
    expect(effects[0]?.changes.map((c) => c.part)).toEqual(['displacer', 'regenerator']);
    expect(effects[0]?.share).toBeCloseTo(1.12 * 1.04 - 1, 2);
    expect(effects[1]?.share).toBeCloseTo(0, 2);
  });

  it('that no build tells apart are named as such', () => {
    // Each build changes what another does and one thing more: three changes, two differences.
    const builds = [build('1', old, 3), build('2', { regenerator: 'steel wool', displacer: 'balsa', flywheel: 'light' }, 3), build('3', { regenerator: 'steel wool', displacer: 'foam', flywheel: 'heavy' }, 3)];
    const { effects, entangled } = mainEffects(builds);
    expect(effects).toEqual([]);
    expect(entangled.map((g) => g.map((c) => c.part))).toEqual([['displacer', 'flywheel', 'regenerator']]);
  });

  it('that do not add up widen their intervals and are said not to', () => {
    const odd = four(3, 0.005).map((b, i) => (i === 3 ? { ...b, results: b.results.map((r) => r * 1.2) } : b));
    const report = mainEffects(odd);
    expect(report.add_up).toBe(false);
    expect(report.scatter?.dof).toBe(1);
    expect(mainEffects(four(3, 0.005)).scatter?.dof).toBeGreaterThan(1);
  });

  it('are none where nothing can be compared', () => {
    expect(mainEffects([build('1', old, 3)]).why).toMatch(/nothing to compare/);
    expect(mainEffects([build('1', old, 3), build('2', old, 2)]).why).toMatch(/do not differ/);
    expect(mainEffects([build('1', old, 1), build('2', { ...old, flywheel: 'heavy' }, 1)]).why).toMatch(/no scatter/);
  });
});

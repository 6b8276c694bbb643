import { describe, expect, it } from 'vitest';

import { normalsFrom, seeded } from '../../support/random.js';
import { findings } from './rules.js';
import type { Trial } from './rules.js';

describe('the rules of the coverage study', () => {
  const u_true = (kind: number): number => 1 + (kind % 10) / 5;
  const trials = (stated: number, bias = 0): Trial[] => {
    const normal = normals(7);
    return Array.from({ length: 4000 }, (_, i): Trial => {
      const kind = Math.floor(i / 20);
      const u = u_true(kind) * stated;
      return {
        quantity: 'torque', kind, broken: false, error: (normal() + bias) * u_true(kind), u, U95: 1.96 * u,
        rectangular: false, load: (i * 7919) % 4000, since_zero_h: (i * 104_729) % 4000, verified: true,
      };
    });
  };

  it('let an honest statement pass', () => {
    const f = findings('torque', trials(1));
    expect(f.coverage.share).toBeGreaterThan(0.94);
    expect(f.width.ratio).toBeCloseTo(1, 1);
    expect(f.holds).toBe(true);
  });

  it('stop one that is too narrow, too wide, or biased', () => {
    expect(findings('torque', trials(0.85)).plain.holds).toBe(false);
    const wide = findings('torque', trials(1.25));
    expect(wide.width.holds).toBe(false);
    expect(wide.thirds.some((t) => !t.holds)).toBe(true);
    expect(findings('torque', trials(1, 0.8)).holds).toBe(false);
  });

  it('see an u that is right on average and wrong in a third', () => {
    const flat = trials(1).map((t) => ({ ...t, u: 1.9, U95: 1.9 * 1.96, load: Math.abs(t.u) }));
    expect(findings('torque', flat).thirds.filter((t) => t.by === 'load').some((t) => !t.holds)).toBe(true);
  });

  it('count a broken rig as right only where it is covered or says that it is unverified', () => {
    const broken = trials(0.3).map((t) => ({ ...t, broken: true }));
    expect(findings('torque', [...trials(1), ...broken]).broken?.holds).toBe(false);
    const warned = broken.map((t) => ({ ...t, verified: false }));
    expect(findings('torque', [...trials(1), ...warned]).broken?.holds).toBe(true);
  });
});

function normals(seed: number): () => number {
  const next = seeded(seed);
  return normalsFrom(next);
}

import { readFileSync } from 'node:fs';

import { describe, expect, it } from 'vitest';

import { builtIn, checkScenario } from '../../../../firmware/twin/scenario.js';
import { trialText } from '../../../../host/cli/trial.js';
import { swingByHand_Pa } from '../../../../host/reduce/ideal/by_hand.js';
import type { Geometry } from '../../../../host/reduce/ideal/schmidt.js';
import { strokesOf } from '../../../../host/reduce/trial/strokes.js';
import { trialOf } from '../../../../host/reduce/trial/trial.js';
import { sheetOf } from '../../../../host/sense/sheet.js';
import { expanded } from '../../../../host/sense/uncertainty/coverage.js';
import { knowledgeOf, SamplesBench, spanOf } from '../values/support/twin.js';

const wave = (n: number, apart_s: number, stroke_s: number, spike = 0): { t_s: number; x: number }[] =>
  Array.from({ length: n }, (_, i) => ({ t_s: i * apart_s, x: 0.5 - 0.1 * Math.cos((2 * Math.PI * i * apart_s) / stroke_s) + 0.0005 * Math.sin(i * i) + (i === 77 ? spike : 0) }));

describe('strokes by hand', () => {
  it('are counted and measured from peak to peak, one spike or none', () => {
    for (const spike of [0, 0.2]) {
      const found = strokesOf(wave(400, 0.1, 2, spike));
      if (typeof found === 'string') throw new Error(found);
      expect(found.swing).toBeCloseTo(0.2, 2);
      expect(found.stroke_s).toBeCloseTo(2, 1);
      expect(found.n).toBeGreaterThanOrEqual(18);
      expect(found.n).toBeLessThanOrEqual(20);
    }
    expect(strokesOf(wave(40, 0.1, 2))).toMatch(/strokes were found, at least 3/);
    expect(strokesOf(wave(5, 0.1, 2))).toMatch(/too few/);
    expect(strokesOf(wave(100, 0.1, 2).map((r) => ({ ...r, x: 0.5 })))).toMatch(/did not move/);
  });
});

/** Mean of p over an even stroke, by summing: independent of the closed form. */
const summed_Pa = (g: Geometry, hot: number, cold: number, mean: number): number => {
  const Tr = (hot - cold) / Math.log(hot / cold);
  const p = Array.from({ length: 20_000 }, (_, i) => {
    const up = (1 - Math.cos((2 * Math.PI * (i + 0.5)) / 20_000)) / 2;
    return 1 / ((g.hot_dead_cm3 + g.hot_swept_cm3 * up) / hot + (g.cold_dead_cm3 + g.hot_swept_cm3 * (1 - up) + g.cold_swept_cm3 / 2) / cold + g.regenerator_cm3 / Tr);
  });
  return ((Math.max(...p) - Math.min(...p)) * mean) / (p.reduce((s, x) => s + x, 0) / p.length);
};

describe('the ideal swing by hand', () => {
  const g: Geometry = { kind: 'gamma', hot_swept_cm3: 60, cold_swept_cm3: 22, phase_deg: 90, hot_dead_cm3: 6, cold_dead_cm3: 9, regenerator_cm3: 4 };
  it('is that of the gas law summed over a stroke', () => {
    for (const [hot, cold] of [[700, 310], [400, 300]] as const) expect(swingByHand_Pa(g, hot, cold, 101_325) / summed_Pa(g, hot, cold, 101_325)).toBeCloseTo(1, 5);
    expect(swingByHand_Pa(g, 300, 300, 101_325)).toBeCloseTo(0, 9);
    expect(() => swingByHand_Pa({ ...g, kind: 'alpha' }, 700, 310, 101_325)).toThrow(/displacer/);
  });
});

describe('a trial on the bench without a shaft', () => {
  const fade = JSON.parse(readFileSync(builtIn('fade'), 'utf8')) as { engine: { model: { geometry: Geometry } }; rig: object; programme: object };
  const SHARE = 0.6;
  const bench = new SamplesBench(
    checkScenario({
      ...fade, engine: { ...fade.engine, start_rpm: 0, hot_start: 1, model: { ...fade.engine.model, kind: 'no_shaft', share: SHARE, leak_rpm: 1.5 } },
      rig: { ...fade.rig, pressure: { zero_V: 2.5, V_per_kPa: 0.09 } },
      programme: { ...fade.programme, acts: [{ t_s: 320, act: 'move displacer 20 times in 100 s' }] },
    }, 'trial'),
    5,
  );
  // What leaks has found its mean by then.
  bench.run(360);
  const block = bench.run(415);
  const span = spanOf(block);
  const { geometry } = fade.engine.model;
  const mean_kPa = 101.325;
  const knowledge = knowledgeOf({ sheet: sheetOf({ pressure_slope_share: 0.01 }) });

  it('finds rate, swing and the share of the ideal cycle that was there, without an edge', () => {
    const trial = trialOf({ ...span, edge: { n: 0, tick: new Float64Array() } }, knowledge, { geometry, mean_kPa, name: null });
    const { rate_per_min, swing_Pa, ideal_share } = trial;
    expect(trial.strokes).toBeGreaterThanOrEqual(9);
    expect(Math.abs((rate_per_min.quantity?.value ?? 0) - 12)).toBeLessThan(0.2);
    if (ideal_share.quantity === null || swing_Pa.quantity === null) throw new Error(ideal_share.reason ?? '');
    const { water, hot } = block;
    const mean = (column: Float64Array, n: number): number => column.subarray(0, n).reduce((sum, x) => sum + x, 0) / n;
    const seen_V = [...water.spare_V.subarray(0, water.n)];
    const true_Pa = ((Math.max(...seen_V) - Math.min(...seen_V)) / 0.09) * 1000;
    expect(Math.abs(swing_Pa.quantity.value - true_Pa)).toBeLessThan(expanded(swing_Pa.quantity).U);
    const true_share = true_Pa / swingByHand_Pa(geometry, mean(hot.hot_C, hot.n) + 273.15, (mean(water.coolant_in_C, water.n) + mean(water.coolant_out_C, water.n)) / 2 + 273.15, 101_325);
    expect(Math.abs(ideal_share.quantity.value - true_share)).toBeLessThan(expanded(ideal_share.quantity).U);
    expect(expanded(ideal_share.quantity).U).toBeLessThan(0.15 * SHARE);
    // The gas is at the wall of the jacket, which is warmer than the coolant: of what lies between the coolant's temperatures it reaches less.
    expect(true_share).toBeLessThan(SHARE);
    expect(true_share).toBeGreaterThan(0.85 * SHARE);
    const text = trialText(trial);
    expect(text).toMatch(/^SIMULATED\n\d+ strokes by hand/);
    for (const line of text.split('\n')) expect(line.length, line).toBeLessThanOrEqual(80);
  });

  it('says what it lacks', () => {
    const { ideal_share, swing_Pa } = trialOf(span, knowledge, null);
    expect(swing_Pa.quantity).not.toBeNull();
    expect(ideal_share).toMatchObject({ quantity: null, reason: expect.stringContaining('--geometry') as unknown });
  });
});

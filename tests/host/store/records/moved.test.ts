import { describe, expect, it } from 'vitest';

import type { Channel, Model } from '../../../../host/sense/calibration/model.js';
import { gravityOf, lengthOf, massesOf } from '../../../../host/sense/guide/words.js';
import { calibrateLoad } from '../../../../host/sense/load/calibrate.js';
import { sheetOf } from '../../../../host/sense/sheet.js';
import { betaModel } from '../../../../host/sense/thermal/thermistor_model.js';
import type { KeptCalibration } from '../../../../host/store/records/calibrations.js';
import { compare } from '../../../../host/store/records/compare.js';
import { normals } from '../../sense/guide/support/noise.js';
import { draft, flowModel, loadModel } from '../support/kept.js';

const kept = (cal_id: number, model: Model, channel: Channel = 'load', line_id = cal_id): KeptCalibration => ({ ...draft({ channel, model }), cal_id, line_id, made_utc_us: 1.7e15 + cal_id * 86_400e6, retired_utc_us: null, retired_remark: null });
const says = (a: KeptCalibration, b: KeptCalibration): string => compare(a, b).says;

const G = 9.8127 * (1 - 1.2 / 8000);
const masses = massesOf('50 g, 100 g, 200 g, class M1');
const ladder = [0, 50, 100, 200, 100, 50, 0];

/** One calibration with the set of weights that all of them share. @param scatter_count of each point */
function hung(slope: number, scatter_count: number, random: () => number, key: string): Model {
  const points = ladder.map((mass_g, i) => ({
    pieces: masses.find((m) => Math.abs(m.mass_kg * 1000 - mass_g) < 1e-6)?.pieces ?? [],
    count: 8000 + slope * 0.06 * G * (mass_g / 1000) + scatter_count * random(), u_count: 1, n: 80,
    direction: i < 4 ? ('up' as const) : ('down' as const), t_s: 10 * i, sequence: i,
  }));
  return calibrateLoad(points, { kind: 'torque', set: 'rig 1 weights', gravity: gravityOf('9.8127 m/s2'), arm: lengthOf('60 mm +-0.1 mm'), key }, sheetOf(), { degree: 1 }).model;
}

describe('two calibrations of the load cell', () => {
  const random = normals(5);
  const first = kept(1, hung(500_000, 6, random, 'one'));

  it('that differ by more than their doubt are told apart, with what to look at', () => {
    const { moved, scatter, says: words, made } = compare(first, kept(4, hung(500_000 * 1.02, 6, random, 'two')));
    expect(moved?.share).toBeCloseTo(0.02, 3);
    // Mass, gravity and radius were the same both times: the difference is known better than either slope.
    expect(moved?.U95).toBeLessThan(Math.min((moved?.U95_a ?? 0) / (moved?.a ?? 1), (moved?.U95_b ?? 0) / (moved?.b ?? 1)) * 1.5);
    expect(words).toMatch(/^The slope of the load cell moved by \+(1\.9|2\.0)\d+ % from calibration 1 to 4, more than their uncertainty of 0\.\d+ % \(95 %\): check the knife edge, the radius, and what hangs on the arm\.$/);
    expect(scatter?.p).toBeGreaterThan(0.01);
    expect(made).toEqual({ a: '2023-11-15T22:13:20.000Z', b: '2023-11-18T22:13:20.000Z' });
    expect(says(kept(4, hung(500_000 * 0.98, 6, random, 'three')), first)).toContain('moved by +2.');
  });

  it('that differ as much as chance makes them are not', () => {
    expect(says(first, kept(2, hung(500_000, 6, random, 'again')))).toMatch(/, no more than their uncertainty of .*: nothing says that it is another\.$/);
    // As often as 95 % lets it be: of 80 pairs of one cell 4, and more than 14 less than once in 2e4 times.
    const pairs = Array.from({ length: 80 }, (_, i) => says(kept(1, hung(500_000, 20, random, `a${i}`)), kept(2, hung(500_000, 20, random, `b${i}`))));
    const called = pairs.filter((text) => !text.includes('nothing says')).length;
    expect(called).toBeGreaterThan(0);
    expect(called).toBeLessThanOrEqual(14);
  });

  it('that differ by what a cell does with temperature are not called a fault', () => {
    const own = { kind: 'systematic', shape: 'normal', dof: null, says: 'scatter' } as const;
    const at = (cal_id: number, slope: number): KeptCalibration => kept(cal_id, loadModel([8000, slope, 0], {
      sources: [{ source: { ...own, id: `cal ${cal_id}` }, c_u: [0, slope * 1e-4, 0] }],
      errors: [{ source: { id: 'cell: slope with temperature', says: 'warmth', kind: 'systematic', shape: 'rectangular', dof: null }, u: 0.001, per: 'value' }, { source: { ...own, id: 'cell: zero' }, u: 1, per: 'K' }],
    }));
    expect(says(at(1, 500_000), at(2, 500_800))).toMatch(/moved by \+0\.160 % .* more than their uncertainty of 0\.028 % \(95 %\), but no more than the 0\.2\d\d % to which such a cell holds its slope with temperature and creep/);
    expect(says(at(1, 500_000), at(2, 498_000))).toMatch(/moved by \u22120\.400 % .*: check the knife edge/);
    expect(says(at(1, 500_000), at(2, 500_050))).toContain('no more than their uncertainty');
  });

  it('say it where the points of the second lie wider about their curve', () => {
    const wide = (sd: number): Model => loadModel([8000, 500_000, 0], { residual_sd_count: sd });
    const tight = kept(1, wide(3));
    expect(compare(tight, kept(2, wide(12))).scatter?.p).toBeLessThan(0.001);
    expect(says(tight, kept(2, wide(12)))).toMatch(/Its points lie 4\.0 times as far from their curve: see to friction/);
    expect(says(tight, kept(2, wide(4)))).not.toContain('times as far');
    expect(says(kept(1, wide(12)), kept(2, wide(3)))).not.toContain('times as far');
  });

  it('are only said to be corrected where the one corrects the other', () => {
    expect(says(kept(1, loadModel()), kept(2, loadModel([8000, 510_000, 0]), 'load', 1))).toMatch(/moved by \+2\.00.* from calibration 1 to 2, because the one was corrected\.$/);
  });
});

describe('two calibrations of another kind', () => {
  it('are told apart by what they read in one place', () => {
    const flow = (c0: number, U: number): Model => ({ ...flowModel(c0), sources: [{ source: { id: `flow ${c0}`, says: 'buckets', kind: 'systematic', shape: 'normal', dof: null }, c_u: [U / 1.96] }] });
    expect(says(kept(1, flow(0.5, 0.005), 'flow'), kept(2, flow(0.6, 0.005), 'flow'))).toMatch(/^The coolant flow moved by \+20\.0 % from calibration 1 to 2, more than their uncertainty of 1\.6 % \(95 %\): look at the pump/);
    const sensor = (R25_ohm: number): Model => betaModel({ R25_ohm, beta_K: 3950, beta_to_C: 50 }, { fixed_ohm: 10_000, fixed_to: 'supply' }, sheetOf(), { sensor: 'rig 1: coolant in', type: 'thermistor' });
    expect(says(kept(1, sensor(10_000), 'coolant_in'), kept(2, sensor(20_000), 'coolant_in'))).toMatch(/^What the sensor coolant in reads in mid-range moved by [+\u2212]\d+\.\d+ C .*: check its fixed resistor/);
    const match = (c0: number): Model => ({ kind: 'isothermal', at_C: 24, coefficients: [c0], sources: [{ source: { id: `match ${c0}`, says: 'noise', kind: 'systematic', shape: 'normal', dof: null }, c_u: [0.01] }], errors: [] });
    expect(says(kept(1, match(0.08), 'coolant_match'), kept(2, match(0.09), 'coolant_match'))).toMatch(/in one bath, moved by \+0\.010 K .* no more than their uncertainty of 0\.028 K/);
  });

  it('hold a wheel against the other in each of its turns', () => {
    const wheel = (sector_share: readonly number[] | null): Model => ({ kind: 'magnets', magnets: 4, sector_share, u_sector_share: sector_share === null ? null : 1e-4, errors: [] });
    const shares = [0.251, 0.249, 0.2495, 0.2505];
    const one = kept(1, wheel(shares), 'speed');
    // The same wheel, begun at its third magnet.
    expect(says(one, kept(2, wheel([...shares.slice(2), ...shares.slice(0, 2)].map((s, i) => s + (i % 2 === 0 ? 1e-5 : -1e-5))), 'speed'))).toContain('nothing says that one has moved');
    expect(says(one, kept(2, wheel([0.256, 0.244, 0.2495, 0.2505]), 'speed'))).toMatch(/^A magnet lies elsewhere by 0\.500 % of a turn, more than .*: check that every magnet is fast/);
    expect(says(one, kept(2, wheel(null), 'speed'))).toContain('Only one of the two was learned');
  });

  it('have nothing in common where they are not of one kind', () => {
    const force = loadModel([8000, 500_000, 0], { kind: 'force', unit: 'N' });
    expect(says(kept(1, loadModel()), kept(2, force))).toMatch(/the kind torque, 2 of the kind force: there is no one number/);
    expect(says(kept(1, loadModel()), kept(2, flowModel(0.5), 'flow'))).toContain('there is nothing to compare');
  });
});

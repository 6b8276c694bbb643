import { describe, expect, it } from 'vitest';

import type { MessageOf } from '../../../../protocol/messages.js';
import type { Guide } from '../../../../host/sense/guide/frame.js';
import { CheckSession } from '../../../../host/sense/guide/check_session.js';
import type { CheckContext } from '../../../../host/sense/guide/check_session.js';
import { FlowSession } from '../../../../host/sense/guide/flow_session.js';
import { loadFitter } from '../../../../host/sense/guide/load_fit.js';
import { LoadSession } from '../../../../host/sense/guide/load_session.js';
import type { LoadTerms } from '../../../../host/sense/guide/load_terms.js';
import { MatchSession } from '../../../../host/sense/guide/match_session.js';
import { WheelSession } from '../../../../host/sense/guide/wheel_session.js';
import { ZeroSession } from '../../../../host/sense/guide/zero_session.js';
import { sheetOf } from '../../../../host/sense/sheet.js';
import { Arm, us_per_tick } from './support/arm.js';
import { normals } from './support/noise.js';

const sheet = sheetOf();
const tickAt = (t_s: number): number => Math.round((t_s * 1e6) / us_per_tick);
const saidBy = (guide: Guide): string => guide.view().said.map((s) => `${s.kind}: ${s.text}`).join('\n');

describe('a zero', () => {
  it('is taken and kept by itself, with what it found against the last one', () => {
    const last = { zero_id: 4, boot_id: 1, tick: tickAt(280), count: -38_150, u_count: 3 };
    const arm = new Arm(new ZeroSession({ last, scale: { counts_per_unit: 3.57e6, unit: 'Nm', range: 0.12 } }), { zero_count: -37_793 });
    arm.wait(4);
    expect(arm.said).toMatch(/Since the last one \(4, 2\.\d min before\) it has moved by 35\d\.\d counts = 0\.(100|101|099) mNm; u of that \d\.\d/);
    expect(arm.guide.outcome?.zeros).toHaveLength(1);
    expect(arm.guide.outcome?.zeros[0]?.count).toBeCloseTo(-37_793, -1);
  });

  it('that has moved as if something hung is asked about', () => {
    const last = { zero_id: 4, boot_id: 1, tick: 0, count: -38_150, u_count: 3 };
    const arm = new Arm(new ZeroSession({ last, scale: { counts_per_unit: 3.57e6, unit: 'Nm', range: 0.12 } }), { zero_count: 0 }).wait(4);
    expect(arm.said).toContain('warning: That is 8.9 % of the calibrated range');
    expect(arm.guide.outcome).toBeNull();
    expect(arm.answer('again').prompt).toBe('zero');
    expect(arm.wait(4).answer('keep').guide.outcome?.zeros).toHaveLength(1);
  });

  it('waits for the engine', () => {
    const arm = new Arm(new ZeroSession({ last: null, scale: null })).wait(4, { turning: true });
    expect([arm.guide.outcome, arm.why]).toEqual([null, expect.stringContaining('engine turning')]);
  });
});

describe('a check mass', () => {
  function context(): CheckContext {
    const arm = new Arm(new LoadSession({ limits: { capacity_N: 9.8 }, fit: loadFitter('rig 1', sheet), answers: { way: 'torque', length: '60 mm +-0.1 mm', gravity: '9.812', masses: '50 g, 100 g, 200 g' } }));
    arm.answer('skip').wait(5).answer('').hang(50).hang(100).hang(200).answer('skip').hang(100).hang(50).hang(0).answer('keep');
    const [kept] = arm.guide.outcome?.calibrations ?? [];
    const model = kept?.model;
    if (model?.kind !== 'torque') throw new Error(arm.said);
    return { rig: 'rig 1', calibration: { cal_id: 7, model }, hung: (kept?.data as { terms: LoadTerms }).terms, zeros: [], boot_id: 1, sheet };
  }
  const checked = context();

  it('passes where the calibration holds, after a zero of its own, and fails where it does not', () => {
    const arm = new Arm(new CheckSession(checked, { mass: '100g' })).wait(4);
    expect([arm.prompt, arm.why]).toEqual(['zero', 'press Enter when nothing hangs on the arm']);
    arm.answer('').wait(4);
    expect(arm.why).toContain('nothing hangs on the arm yet');
    arm.hang(100);
    expect(arm.said).toContain('told: The check mass passes');
    expect(arm.guide.outcome).toMatchObject({ check: { nominal_kg: 0.1, cal_id: 7, unit: 'Nm', passed: true }, zeros: [{ remark: 'check' }] });

    const bent = new Arm(new CheckSession(checked, { mass: '100g' }), { counts_per_g: 2100 * 1.01 }).wait(4).answer('').hang(100);
    expect(bent.said).toContain('warning: The check mass fails');
    expect(bent.guide.outcome).toBeNull();
    expect(bent.answer('keep').guide.outcome?.check).toMatchObject({ passed: false });
  });

  it('goes by a fresh zero of this boot, and neither passes nor fails without a calibration', () => {
    const zeros = [{ id: 'boot 1, tick 1', t_s: 300, count: -38_150, u_count: 3 }];
    expect(new Arm(new CheckSession({ ...checked, zeros }, { mass: '100g' })).wait(1).prompt).toBe('hang 100 g');
    const arm = new Arm(new CheckSession({ ...checked, calibration: null, zeros }, { mass: '100g' })).wait(1).hang(100);
    expect(arm.guide.outcome?.check).toMatchObject({ passed: null, expected: null, cal_id: null });
    expect(new CheckSession({ ...checked, hung: null }, { mass: '100 g' }).view().prompt.id).toBe('length');
    expect(() => new CheckSession(checked, { mass: 'heavy' })).toThrow(/a mass is/);
  });
});

describe('the match of the coolant sensors', () => {
  /** Sums of 64 conversions of 10 kOhm NTCs with 10 kOhm to the supply, at t_C. */
  const sumAt = (t_C: number, noise: number): number => {
    const ratio = 1 / (1 + Math.exp(-3950 * (1 / (t_C + 273.15) - 1 / 298.15)));
    return Math.round(64 * 1024 * ratio + noise);
  };

  function bath(guide: Guide, seconds: number, at: (t_s: number) => { in: number; out: number }): void {
    const random = normals(3);
    for (let t = 0; t < seconds; t += 0.25) {
      const { in: inlet, out } = at(t);
      const message = { name: 'water', seq: 0, tick: 0, in_sum: sumAt(inlet, 6 * random()), out_sum: sumAt(out, 6 * random()), skin_sum: 0, spare_sum: 0, in_spread: 3, out_spread: 3, skin_spread: 0, spare_spread: 0 } satisfies MessageOf<'water'>;
      guide.message({ boot_id: 1, tick: tickAt(100 + t), message });
    }
  }
  const session = (): MatchSession => {
    const guide = new MatchSession({ rig: 'rig 1', models: null, type: 'thermistor', sheet }, { sensors: '10k 3950' });
    guide.board({ boot_id: 1, us_per_tick });
    return guide;
  };

  it('is found from a steady bath, and kept with the sensors as they were told', () => {
    const guide = session();
    bath(guide, 40, () => ({ in: 24, out: 24.08 }));
    expect(guide.view().live?.why_not).toMatch(/^(38|39|40) s of 60 s$/);
    bath(guide, 70, () => ({ in: 24, out: 24.08 }));
    expect(guide.view().prompt.id, guide.view().live?.why_not ?? '').toBe('result');
    guide.answer('keep');
    expect(guide.outcome?.calibrations.map((c) => c.channel)).toEqual(['coolant_in', 'coolant_out', 'coolant_match']);
    const match = guide.outcome?.calibrations.at(-1)?.model;
    expect(match?.kind === 'isothermal' ? match.coefficients[0] : NaN).toBeCloseTo(0.08, 2);
  });

  it('is refused while the bath warms, and where the two are not in one bath', () => {
    for (const [at, why] of [[(t: number) => ({ in: 24 + t / 100, out: 24 + t / 100 }), 'the bath warms'], [() => ({ in: 18, out: 24 }), 'out reads 6.0']] as const) {
      const guide = session();
      bath(guide, 70, at);
      expect(guide.view().live?.why_not).toContain(why);
      expect(() => guide.answer('take')).toThrow(/Not taken/);
    }
  });
});

describe('flow by the bucket', () => {
  const session = (): FlowSession => {
    const guide = new FlowSession('rig 1', { balance: '1 g, 20 C' });
    guide.board({ boot_id: 1, us_per_tick });
    return guide;
  };
  /** A meter of `f` pulses a second from t0 on. */
  function run(guide: Guide, from_s: number, seconds: number, f: number, offset: number): void {
    for (let t = from_s; t < from_s + seconds; t += 0.25) {
      const pulses = Math.floor((t - from_s) * f) + offset;
      const message = { name: 'flow', seq: 0, tick: 0, pulses: pulses & 0xffff, pulse_tick: tickAt(from_s + Math.floor((t - from_s) * f) / f) } satisfies MessageOf<'flow'>;
      guide.message({ boot_id: 1, tick: tickAt(t), message });
    }
  }

  it('by hand alone is a mean of its repeats', () => {
    const guide = session();
    for (const words of ['512 g 60 s', '508 g, 60 s', '515 g 60.0 s', 'done']) guide.answer(words);
    expect((guide.view().preview as { text: string[] }).text.at(-1)).toMatch(/^mean 0\.5126 L\/min, spread 0\.0070 L\/min \(1\.37 %\)/);
    guide.answer('keep');
    const model = guide.outcome?.calibrations[0]?.model;
    expect([model?.kind, model?.kind === 'fixed' ? model.coefficients[0] : 0]).toEqual(['fixed', expect.closeTo(0.5132, 3)]);
    expect(() => session().answer('done')).toThrow();
    expect(() => session().answer('a bucket')).toThrow(/start, or grams and seconds/);
  });

  it('with a meter gives its curve, from pulses that are timed and not counted by the quarter of a second', () => {
    const guide = session();
    let t = 100;
    for (const f of [20, 40, 60]) {
      run(guide, t, 10, f, 65_500);
      guide.answer('start');
      // The meter goes on; its count wraps.
      run(guide, t + 10, 30, f, 65_500 + f * 10);
      guide.answer('');
      const seconds = 30;
      // 5600 pulses a litre, and 2 pulses a second at rest.
      guide.answer(`${(((f - 2) / 5600) * seconds * 998.2).toFixed(1)} g`);
      t += 40;
    }
    guide.answer('done');
    expect((guide.view().preview as { text: string[] }).text[1]).toMatch(/40\.\d\d pulses a second, -?0\.[0-3]\d % off the curve$/);
    guide.answer('keep');
    const model = guide.outcome?.calibrations[0]?.model;
    if (model?.kind !== 'pulses') throw new Error(saidBy(guide));
    const [c0 = 0, c1 = 0] = model.coefficients;
    expect(c1 * 50 + c0).toBeCloseTo(((50 - 2) / 5600) * 60, 2);
  });
});

describe('the wheel', () => {
  const shares = [0.252, 0.2481, 0.2507, 0.2492];
  function spin(guide: Guide, turns: number): void {
    guide.board({ boot_id: 1, us_per_tick });
    const random = normals(5);
    let angle = 0;
    const tick = (): number => {
      // Slowing down evenly: 5 turns a second at first, less one in 20 s.
      const [w, a] = [5, 0.05];
      return tickAt(50 + (w - Math.sqrt(Math.max(0, w * w - 2 * a * angle))) / a + 2e-6 * random());
    };
    for (let k = 0; k < turns * 4; k++) {
      guide.message({ boot_id: 1, tick: tick(), message: { name: 'edge', seq: 0 } as never });
      angle += shares[k % 4] ?? 0;
    }
    guide.message({ boot_id: 1, tick: tick() + tickAt(4), message: { name: 'status', seq: 0 } as never });
  }

  it('is learned when it has run down, and too short a spin is refused with the reason', () => {
    const guide = new WheelSession(4);
    spin(guide, 60);
    expect(guide.view().prompt.id, saidBy(guide)).toBe('result');
    guide.answer('keep');
    const model = guide.outcome?.calibrations[0]?.model;
    if (model?.kind !== 'magnets') throw new Error('no model');
    expect(model.sector_share?.map((s) => Number(s.toFixed(3)))).toEqual(expect.arrayContaining([0.252, 0.248, 0.251, 0.249]));
    const short = new WheelSession(4);
    spin(short, 10);
    expect(short.view().prompt.id).toBe('spin');
    expect(saidBy(short)).toMatch(/refused: The magnets cannot be learned from this spin/);
  });
});

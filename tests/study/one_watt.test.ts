import { describe, expect, it } from 'vitest';

import { SamplesBench } from '../../firmware/twin/depth/samples.js';
import { spanValues } from '../../host/reduce/values/span_values.js';
import type { Guide } from '../../host/sense/guide/frame.js';
import { loadFitter } from '../../host/sense/guide/load_fit.js';
import { LoadSession } from '../../host/sense/guide/load_session.js';
import { ZeroSession } from '../../host/sense/guide/zero_session.js';
import type { CalibrationRecord, ZeroRecord } from '../../host/sense/calibration/record.js';
import { sheetOf } from '../../host/sense/sheet.js';
import { told } from '../../host/sense/uncertainty/budget.js';
import { knowledgeOf, spanOf, truthOver } from '../host/reduce/values/support/twin.js';
import { scenarioWith, steady } from './coverage/bench.js';

const US_PER_TICK = 0.5;
/** Settings of heat and brake at which the cyclic, part-loaded Teasel makes about 1 W at about 600 rev/min. */
const HEAT = 0.529;
const BRAKE = 0.423;

/** The default rig, calibrated with 20, 50 and 100 g of class M1 at 60 mm +-0.1 mm, a zero before and after, 60 s of running. */
describe('torque at 1 W and 600 rev/min by the default rig', () => {
  it('is known to some per cent, and its budget says by what', () => {
    const bench = new SamplesBench(
      scenarioWith({ rig: { gravity_m_s2: 9.812 }, masses: { class: 'M1' }, engine: { hot_start: 0, start_rpm: 0 }, programme: { heat: steady(0), brake: steady(0) } }),
      11,
    );
    let guide: Guide | null = null;
    const wait = (seconds: number) => {
      const block = bench.run(bench.t_s + seconds);
      for (let i = 0; i < block.force.n && guide !== null; i++) {
        const tick = block.force.tick[i] ?? 0;
        guide.message({ boot_id: 1, tick, message: { name: 'force', seq: 0, tick, count: block.force.count[i] ?? 0, flags: block.force.flags[i] ?? 0 } });
      }
      return block;
    };
    const lead = (to: Guide | null): void => {
      guide = to;
      to?.board({ boot_id: 1, us_per_tick: US_PER_TICK });
    };
    const hang = (g: number, seconds: number): void => {
      bench.act({ kind: 'hang', mass_kg: g / 1000, radius_m: 0.06 });
      wait(seconds);
    };
    const zeros: ZeroRecord[] = [];
    const zero = (): void => {
      const session = new ZeroSession({ last: null, scale: null });
      lead(session);
      wait(12);
      lead(null);
      for (const z of session.outcome?.zeros ?? []) zeros.push({ ...z, zero_id: zeros.length + 1, rig_id: 1 });
    };

    wait(300);
    const session = new LoadSession({ limits: { capacity_N: 9.8 }, fit: loadFitter('rig 1', sheetOf()), answers: { way: 'torque', length: '60 mm +-0.1 mm', gravity: '52.5 deg, 40 m', masses: '20 g, 50 g, 100 g, class M1' } });
    lead(session);
    wait(4);
    for (let i = 0; i < 3; i++) {
      hang(100, 4);
      hang(0, 4);
    }
    wait(6);
    for (const g of [20, 50, 100]) hang(g, 6);
    wait(26);
    for (const g of [50, 20, 0]) hang(g, 6);
    expect(session.view().prompt.id).toBe('result');
    session.answer('keep');
    lead(null);
    const kept = session.outcome?.calibrations[0];
    if (kept === undefined) throw new Error('nothing was kept');
    const load: CalibrationRecord = { cal_id: 1, rig_id: 1, channel: 'load', from: kept.from, to: null, model: kept.model, data: null, made_utc_us: 0, author: '', remark: '', replaces: null, retired_utc_us: null };

    zero();
    bench.act({ kind: 'heat', level: HEAT });
    bench.act({ kind: 'brake', level: BRAKE });
    wait(240);
    bench.act({ kind: 'flick', speed_rpm: 500 });
    wait(240);
    const from_s = bench.t_s;
    const block = wait(60);
    bench.act({ kind: 'heat', level: 0 });
    bench.act({ kind: 'brake', level: 1 });
    wait(120);
    zero();

    const values = spanValues(spanOf(block), { ...knowledgeOf({ zeros, checks: [] }), calibrations: { ...knowledgeOf({}).calibrations, load } });
    const { quantity, reason } = values.torque_Nm;
    if (quantity === null) throw new Error(reason ?? 'no torque');
    const truth = truthOver(block.force, block.force.torque_Nm, from_s, from_s + 60);
    const said = told(quantity);
    const rpm = values.speed_rpm.quantity?.value ?? NaN;
    const power = values.power_W.quantity === null ? null : told(values.power_W.quantity);
    process.stdout.write(
      [
        `${rpm.toFixed(1)} rev/min, torque ${(1000 * said.value).toFixed(3)} +- ${(1000 * said.U95).toFixed(3)} mNm (${((100 * said.U95) / said.value).toFixed(2)} %), truth ${(1000 * truth).toFixed(3)}; power ${power?.value.toFixed(4)} +- ${power?.U95.toFixed(4)} W`,
        ...said.budget.map((b) => `  ${(100 * b.share).toFixed(0).padStart(3)} %  u ${(1000 * b.u).toFixed(5)} mNm  ${b.says}`),
        '',
      ].join('\n'),
    );
    expect(rpm).toBeGreaterThan(560);
    expect(rpm).toBeLessThan(640);
    expect(power?.value).toBeGreaterThan(0.9);
    expect(power?.value).toBeLessThan(1.1);
    expect(Math.abs(said.value - truth)).toBeLessThan(said.U95);
    expect(said.U95 / said.value).toBeLessThan(0.05);
  }, 120_000);
});

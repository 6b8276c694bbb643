import { readFileSync } from 'node:fs';

import type { Block } from '../../../../../firmware/twin/depth/block.js';
import { SamplesBench } from '../../../../../firmware/twin/depth/samples.js';
import { builtIn, checkScenario } from '../../../../../firmware/twin/scenario.js';
import type { Scenario } from '../../../../../firmware/twin/scenario.js';
import { datePulse } from '../../../../../host/link/pulse_date.js';
import type { DatedPulse } from '../../../../../host/link/pulse_date.js';
import type { Knowledge, Span } from '../../../../../host/reduce/span.js';
import { stored } from '../../../../../host/sense/calibration/model.js';
import type { Channel, LoadModel, Model } from '../../../../../host/sense/calibration/model.js';
import type { CalibrationRecord, CheckRecord, ZeroRecord } from '../../../../../host/sense/calibration/record.js';
import { sheetOf } from '../../../../../host/sense/sheet.js';
import { hotModel } from '../../../../../host/sense/thermal/hot_model.js';
import { betaModel } from '../../../../../host/sense/thermal/thermistor_model.js';

type Plain = { [key: string]: unknown };
const teasel = JSON.parse(readFileSync(builtIn('teasel'), 'utf8')) as Plain;

/** Teasel with whole parts of its scenario exchanged, and fields of its rig. */
export const teaselWith = (change: Plain, rig: Plain = {}): Scenario => checkScenario({ ...teasel, ...change, rig: { ...(teasel['rig'] as Plain), ...rig } }, 'test');

const crystal_ppm = 18;
/** Of Teasel's crystal. */
export const US_PER_TICK = 0.5 / (1 + crystal_ppm * 1e-6);

/** A block of the twin as a span, with what a clock map that has run for long would know. */
export function spanOf(block: Block, more: Partial<Span> = {}): Span {
  const { force, edge, hot, water, flow, mark } = block;
  const cut = <C extends { n: number; tick: Float64Array }>(rows: C): C =>
    Object.fromEntries(Object.entries(rows).map(([name, column]) => [name, ArrayBuffer.isView(column) ? (column).slice(0, rows.n) : column])) as C;
  let before: DatedPulse | undefined;
  const pulses = Array.from({ length: flow.n }, (_, i) => (before = datePulse(flow.tick[i] as number, { pulse_tick: flow.pulse_tick[i] as number, pulses: flow.pulses[i] as number }, before)));
  return {
    boot_id: 1,
    simulated: true,
    tick_from: Math.ceil((block.from_s * 1e6) / US_PER_TICK),
    tick_to: Math.floor((block.to_s * 1e6) / US_PER_TICK),
    us_per_tick: US_PER_TICK,
    u_us_per_tick: US_PER_TICK * 1e-6,
    from_utc_us: 1.7e15,
    force: cut(force),
    edge: cut(edge),
    hot: cut(hot),
    water: cut(water),
    flow: { n: flow.n, tick: flow.tick.slice(0, flow.n), pulse_tick: Float64Array.from(pulses, (p) => p.pulse_tick ?? NaN), pulses: Float64Array.from(pulses, (p) => p.pulses) },
    mark: cut(mark),
    holes: [],
    ...more,
  };
}

const record = (cal_id: number, channel: Channel, model: Model): CalibrationRecord => ({
  cal_id, rig_id: 1, channel, from: { boot_id: 1, tick: 0 }, to: null, model, data: null, made_utc_us: 0, author: 'test', remark: '', replaces: null, retired_utc_us: null,
});

/** A calibration in place that is off by nothing but what it says: 0.1 % of the slope. */
export const loadModel = (counts_per_Nm: number): LoadModel => ({
  kind: 'torque', unit: 'Nm', degree: 1, coefficients: [0, counts_per_Nm, 0], dof: 20, residual_sd_count: 5, x_range: [0, 0.2], arm_m: null, u_arm_m: null,
  errors: [{ source: stored({ id: 'cell: zero with temperature', says: 'zero with temperature', kind: 'systematic', shape: 'rectangular', dof: Infinity }), u: (5e-5 * 9.8 * 0.06) / Math.sqrt(3), per: 'K' }],
  sources: [{ source: stored({ id: 'cal: load test', says: 'masses', kind: 'systematic', shape: 'normal', dof: Infinity }), c_u: [0, counts_per_Nm * 0.001, 0] }],
});

export const zeroAtTick = (zero_id: number, tick: number, count: number, u_count = 3): ZeroRecord => ({
  zero_id, rig_id: 1, boot_id: 1, tick, tick_from: tick - 1e7, tick_to: tick + 1e7, count, u_count, n: 800, remark: '',
});

export const checkAtTick = (check_id: number, tick: number, passed = true): CheckRecord => ({
  check_id, rig_id: 1, boot_id: 1, tick, tick_from: tick, tick_to: tick, count: 1, u_count: 1, n: 80, nominal_kg: 0.1, cal_id: 7, expected: 1, read: 1, unit: 'Nm', passed, remark: '',
});

/** What a builder of Teasel knows. */
export function knowledgeOf(more: Partial<Knowledge> = {}): Knowledge {
  const sheet = sheetOf();
  const divider = { fixed_ohm: 10_000, fixed_to: 'supply' } as const;
  const thermistor = (name: string): Model => betaModel({ R25_ohm: 10_000, beta_K: 3950, beta_to_C: 50 }, divider, sheet, { sensor: `rig 1: coolant ${name}`, type: 'thermistor' });
  return {
    rig_id: 1,
    magnets: 4,
    calibrations: {
      load: record(7, 'load', loadModel(214_300 / 0.06)),
      hot: record(8, 'hot', hotModel(2)),
      coolant_in: record(9, 'coolant_in', thermistor('in')),
      coolant_out: record(10, 'coolant_out', thermistor('out')),
      flow: record(11, 'flow', { kind: 'pulses', coefficients: [2 / (5600 / 60), 60 / 5600, 0], sources: [], f_range_Hz: [5, 120], errors: [] }),
    },
    zeros: [],
    checks: [],
    sheet,
    entered: [],
    ...more,
  };
}

export { truthOver } from '../../../../support/truth_over.js';
export { SamplesBench };

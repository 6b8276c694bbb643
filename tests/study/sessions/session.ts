import type { Block } from '../../../firmware/twin/depth/block.js';
import { SamplesBench } from '../../../firmware/twin/depth/samples.js';
import { pulses_per_L } from '../../../firmware/twin/world/flow-meter.js';
import { scale_g } from '../../../firmware/twin/world/tools.js';
import type { Channel, Model } from '../../../host/sense/calibration/model.js';
import type { CalibrationRecord, CheckRecord, ZeroRecord } from '../../../host/sense/calibration/record.js';
import type { NewCheck, NewZero } from '../../../host/sense/guide/frame.js';
import { tickLength } from '../../../host/sense/speed_clock.js';
import { BUCKET_HAND_s, pulseModel } from '../../../host/sense/thermal/flow_model.js';
import type { BucketRun } from '../../../host/sense/thermal/flow_model.js';
import { hotModel } from '../../../host/sense/thermal/hot_model.js';
import { isothermalMatch } from '../../../host/sense/thermal/isothermal_match.js';
import type { Knowledge, Span } from '../../../host/reduce/span.js';
import { u } from '../../../host/sense/uncertainty/quantity.js';
import { coolantModels, sumsOf } from '../coverage/coolant.js';
import { Hands } from '../coverage/hands.js';
import { guidedLoad, HUNG } from '../coverage/load_rig.js';
import type { Draws, Rig } from '../coverage/plan.js';
import { clockMap } from '../coverage/speed.js';
import type { SessionPlan } from './plan.js';
import { spanOf } from './span.js';

/** What a session leaves: the record as the reductions take it, and the twin's truth beside it. */
export interface Session {
  readonly sweep: Span;
  readonly coast: Span;
  /** The wheel with the ring on; null: the inertia was entered. */
  readonly ring: Span | null;
  readonly knowledge: Knowledge;
  /** Truth of the sweep. */
  readonly block: Block;
  readonly us_per_tick: number;
  /** When the burner was lit. */
  readonly lit_s: number;
}

const NOMINAL_us = 0.5;
const RIG = 'rig 1';
/** As the reductions call the type of both coolant sensors. */
const TYPE = 'thermistor';
const BALANCE_SHARE = 0.005;
const CHECK_g = 100;
const SPIN_s = 1.5;
/** Until the hot end is as cold as the coolant. */
const COOLS_s = 60;

/** Calibrations, zero and check; warm up, sweep, stop; zero and check again, and coast-downs of the cold wheel. */
export function conduct(plan: SessionPlan, { own, seed }: Pick<Rig, 'own' | 'seed'>): Session | { readonly refused: string } {
  const { scenario, sheet } = plan;
  const bench = new SamplesBench(scenario, seed, { reuse: true });
  const baths: ReturnType<typeof sumsOf>[] = [];
  const hands = new Hands(bench, (b) => baths.push(sumsOf(b.water)));
  // Nothing couples the bath with the arm: both are done in the same minutes.
  hands.act({ kind: 'bath', bath_C: plan.bath_C });
  const guided = guidedLoad(hands, RIG, plan.tolerance_share, sheet);
  if ('refused' in guided) return guided;
  const models = coolantModels(`${RIG}: `, TYPE, sheet);
  const bath = baths.slice(3);
  const matched = isothermalMatch(bath.flatMap((b) => b.rows), bath.reduce((s, b) => s + b.duration_s, 0), models, sheet, { rig: RIG, type: TYPE, span: 'bath' });
  if (matched.state === 'refused') return { refused: `no match: ${matched.reason.replace(/[-\d.]+/g, '#').slice(0, 70)}` };
  hands.act({ kind: 'bath', bath_C: 'off' });
  const record = (cal_id: number, channel: Channel, model: Model): CalibrationRecord => ({
    cal_id, rig_id: 1, channel, from: { boot_id: 1, tick: 0 }, to: null, model, data: null, made_utc_us: 0, author: 'study', remark: '', replaces: null, retired_utc_us: null,
  });
  const calibrations = {
    load: record(1, 'load', guided.model),
    hot: record(2, 'hot', hotModel(2)),
    coolant_in: record(3, 'coolant_in', models.in),
    coolant_out: record(4, 'coolant_out', models.out),
    coolant_match: record(5, 'coolant_match', matched.model),
    flow: record(6, 'flow', flowModel(plan, own)),
  };
  const zeros: NewZero[] = [...guided.zeros];
  const checks: (NewCheck | null)[] = [];
  const zeroAndCheck = (): void => {
    zeros.push(...hands.zero());
    const asZeros = zeros.map((z) => ({ id: `boot 1, tick ${z.tick}`, t_s: (z.tick * NOMINAL_us) / 1e6, count: z.count, u_count: z.u_count }));
    const context = { rig: RIG, calibration: { cal_id: 1, model: guided.model }, hung: null, zeros: asZeros, boot_id: 1, sheet };
    checks.push(hands.check(context, { mass: `${CHECK_g} g +-${CHECK_g * plan.tolerance_share} g`, ...HUNG }, CHECK_g));
  };
  zeroAndCheck();

  const lit_s = bench.act_s;
  bench.act({ kind: 'heat', level: 1 });
  bench.act({ kind: 'brake', level: plan.settings[0] ?? 0 });
  bench.at(lit_s + 2 * plan.hot_lag_s, { kind: 'flick', speed_rpm: (plan.peak_rad_s * 30) / Math.PI });
  bench.run(lit_s + plan.warm_s);
  const from_s = bench.t_s;
  for (const [i, level] of plan.settings.entries()) bench.at(from_s + i * plan.dwell_s, { kind: 'brake', level });
  const block = kept(bench.run(from_s + plan.settings.length * plan.dwell_s));

  bench.act({ kind: 'heat', level: 0 });
  bench.act({ kind: 'brake', level: 1 });
  bench.run(bench.t_s + 5 * plan.hot_lag_s);
  bench.act({ kind: 'brake', level: 0 });
  bench.run(bench.t_s + 5);
  zeroAndCheck();
  bench.act({ kind: 'heat', level: plan.embers });
  bench.run(bench.t_s + COOLS_s);
  const coast = coastOf(bench, plan);
  const wheel = plan.ring_kgm2 === null ? null : new SamplesBench({ ...scenario, engine: { ...scenario.engine, inertia_kgm2: plan.inertia_kgm2 + plan.ring_kgm2 } }, seed + 1, { reuse: true });

  const us_per_tick = bench.us_per_tick;
  const tickAt = (t_s: number): number => (t_s * 1e6) / us_per_tick;
  const length = tickLength({ boot_id: 1, nominal_us_per_tick: NOMINAL_us, pieces: clockMap(own, tickAt, bench.t_s, 100) }, tickAt(from_s), tickAt(bench.t_s), sheet);
  const clock = { us_per_tick: length.value, u_us_per_tick: u(length) };
  return {
    sweep: spanOf(block, clock),
    coast: spanOf(coast, clock),
    ring: wheel === null ? null : spanOf(coastOf(wheel, plan), clock),
    knowledge: {
      rig_id: 1,
      magnets: 4,
      calibrations,
      zeros: zeros.map((z, i): ZeroRecord => ({ ...z, zero_id: i + 1, rig_id: 1 })),
      checks: checks.flatMap((c, i): CheckRecord[] => (c === null ? [] : [{ ...c, check_id: i + 1, rig_id: 1 }])),
      sheet,
      entered: [],
      inertia_kgm2: null,
    },
    block,
    us_per_tick,
    lit_s,
  };
}

function coastOf(bench: SamplesBench, { peak_rad_s, inertia_kgm2, ring_kgm2, curve }: SessionPlan): Block {
  bench.run(bench.t_s + SPIN_s);
  bench.act({ kind: 'flick', speed_rpm: (1.3 * peak_rad_s * 30) / Math.PI });
  // Until it stands, even with a ring on.
  const longest_s = ((inertia_kgm2 + (ring_kgm2 ?? 0)) * 1.3 * peak_rad_s) / curve.friction_Nm(0);
  return kept(bench.run(bench.t_s + Math.min(90, longest_s)));
}

/** A block whose bench fills it anew with the next run. */
function kept(block: Block): Block {
  const rows = <R extends { readonly n: number }>(of: R): R => Object.fromEntries(Object.entries(of).map(([name, column]) => [name, ArrayBuffer.isView(column) ? (column as unknown as Float64Array).slice(0, of.n) : column])) as unknown as R;
  return { ...block, force: rows(block.force), edge: rows(block.edge), hot: rows(block.hot), water: rows(block.water), flow: rows(block.flow), mark: rows(block.mark) };
}

/** Buckets at flows about the one that is used, as a person fills them, and the curve of the meter from them. */
function flowModel({ flow_Lpmin, meter, tools, bath_C }: SessionPlan, own: Draws): Model {
  const runs = [0.7, 0.85, 1, 1.15, 1.3].map((share): BucketRun => {
    const q = flow_Lpmin * share;
    const seconds = 40;
    const caught_L = (q / 60) * (seconds + tools.watch_spread_s * own.normal());
    return { grams: scale_g(caught_L, bath_C, tools), seconds, pulses: ((pulses_per_L(q, meter) * q) / 60 - meter.offset_Hz) * seconds, t_C: bath_C };
  });
  return pulseModel(runs, { u_scale_share: BALANCE_SHARE / Math.sqrt(3), u_grams: tools.scale_resolution_g / Math.sqrt(6), u_seconds: BUCKET_HAND_s, density_kg_m3: null, id: 'cal: flow rig 1' });
}

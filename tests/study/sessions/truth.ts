import { readFileSync } from 'node:fs';

import { randomStream } from '../../../firmware/twin/world/random.js';
import { Wander } from '../../../firmware/twin/world/wander.js';
import type { Point } from '../../../host/reduce/points/point.js';
import { truthOver } from '../../support/truth_over.js';
import { projectFile } from '../coverage/bench.js';
import { truePeak } from './engine_curve.js';
import type { SessionPlan } from './plan.js';
import type { Session } from './session.js';

const secondsOf = ({ tick_from, tick_to }: Point, us_per_tick: number): readonly [number, number] => [(tick_from * us_per_tick) / 1e6, (tick_to * us_per_tick) / 1e6];

/** What the shaft gave over a point: mean torque of the brake times mean speed. */
export function truePower_W({ block: { force }, us_per_tick }: Session, point: Point): number {
  const [from, to] = secondsOf(point, us_per_tick);
  return truthOver(force, force.torque_Nm, from, to) * truthOver(force, force.speed_rad_s, from, to);
}

/** Water at one atmosphere, worked out apart from this program. */
const water = (JSON.parse(readFileSync(projectFile('tests', 'published', 'data', 'if97-region1.json'), 'utf8')) as { readonly water_101325_Pa: readonly { readonly t_C: number; readonly density_kg_m3: number; readonly cp_kJ_kgK: number }[] }).water_101325_Pa;

function heatOfLitre_J_K(t_C: number): number {
  const above = Math.max(1, water.findIndex((row) => row.t_C >= t_C));
  const [a, b] = [water[above - 1], water[above]];
  if (a === undefined || b === undefined) return NaN;
  const f = (t_C - a.t_C) / (b.t_C - a.t_C);
  const of = (row: typeof a): number => row.density_kg_m3 * row.cp_kJ_kgK;
  return of(a) * (1 - f) + of(b) * f;
}

/** What the water took up between both sensors over a point. */
export function trueCoolantHeat_W({ block, us_per_tick }: Session, point: Point): number {
  const [from, to] = secondsOf(point, us_per_tick);
  const flow_Lpmin = truthOver(block.flow, block.flow.flow_Lpmin, from, to);
  const [cold_C, warm_C] = [block.water.coolant_in_C, block.water.coolant_out_C].map((c) => truthOver(block.water, c, from, to)) as [number, number];
  return (flow_Lpmin / 60) * heatOfLitre_J_K((cold_C + warm_C) / 2) * (warm_C - cold_C);
}

/**
 * What the engine's indicated torque was multiplied by, second by second of bench time: the twin's wander drawn again from its
 * seed, and the hot end that follows its heater from when it was lit.
 */
export function driveShares({ scenario, hot_lag_s }: SessionPlan, seed: number, lit_s: number, until_s: number): Float64Array {
  if (scenario.wander === undefined) throw new Error('the session has no wander');
  const wander = new Wander(scenario.wander, (name) => randomStream(seed, name));
  const shares = new Float64Array(Math.ceil(until_s) + 1);
  let level = 0;
  for (let s = 0; s < shares.length; s++) {
    wander.draw();
    const lit = Math.max(0, Math.min(1, s + 1 - lit_s));
    const source = lit > 0 ? wander.heater : 0;
    const before = level;
    level = source + (level - source) * Math.exp(-lit / hot_lag_s);
    shares[s] = (wander.power * (before + level)) / 2;
  }
  return shares;
}

/**
 * The session's own peak power: the greatest that the engine gives at any speed in the state that it was in on the mean over its
 * points. An engine wanders; what it did between sessions no session can tell, that is for a verdict.
 */
export function truePeakOf(plan: SessionPlan, session: Session, points: readonly Point[], shares: Float64Array): ReturnType<typeof truePeak> {
  const within = points.map((p) => {
    const [from, to] = secondsOf(p, session.us_per_tick);
    return Array.from(shares.subarray(Math.ceil(from), Math.ceil(to - 1)));
  });
  const share = meanOf(within.flat());
  const swung = points.map((p, i) => {
    const { force } = session.block;
    const w = truthOver(force, force.speed_rad_s, ...secondsOf(p, session.us_per_tick));
    return { w, off: truePower_W(session, p) / ((meanOf(within[i] ?? []) * plan.curve.indicated_Nm(w) - plan.curve.friction_Nm(w)) * w) };
  });
  const even = truePeak(plan.curve, share, plan.peak_rad_s, () => 1);
  return truePeak(plan.curve, share, plan.peak_rad_s, lineThrough(swung.toSorted((a, b) => Math.abs(a.w - even.speed_rad_s) - Math.abs(b.w - even.speed_rad_s)).slice(0, NEAR_PEAK)));
}

/** A slow and light wheel swings within each turn, and the mean over a turn of a bent curve is less than the curve at the mean speed: that is read off so many points next to the peak. */
const NEAR_PEAK = 4;

function lineThrough(points: readonly { readonly w: number; readonly off: number }[]): (w: number) => number {
  const [w0, mean] = [meanOf(points.map((p) => p.w)), meanOf(points.map((p) => p.off))];
  const ww = points.reduce((s, p) => s + (p.w - w0) ** 2, 0);
  const slope = points.reduce((s, p) => s + (p.w - w0) * (p.off - mean), 0) / ww;
  return (w) => mean + slope * (w - w0);
}

const meanOf = (v: readonly number[]): number => v.reduce((s, x) => s + x, 0) / v.length;

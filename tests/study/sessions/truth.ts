import { readFileSync } from 'node:fs';

import { randomStream } from '../../../firmware/twin/world/random.js';
import { Wander } from '../../../firmware/twin/world/wander.js';
import type { Point } from '../../../host/reduce/points/point.js';
import { projectFile } from '../coverage/bench.js';
import { truePeak } from './engine_curve.js';
import type { SessionPlan } from './plan.js';
import type { Session } from './session.js';

/** Mean of a column of the truth over rows that lie in a stretch of true time. */
function meanIn(rows: { readonly n: number; readonly t_s: Float64Array }, column: Float64Array, from_s: number, to_s: number): number {
  let sum = 0;
  let n = 0;
  for (let i = 0; i < rows.n; i++) {
    const t = rows.t_s[i] as number;
    if (!(t >= from_s && t <= to_s)) continue;
    sum += column[i] as number;
    n++;
  }
  return sum / n;
}

const secondsOf = ({ tick_from, tick_to }: Point, us_per_tick: number): readonly [number, number] => [(tick_from * us_per_tick) / 1e6, (tick_to * us_per_tick) / 1e6];

/** What the shaft gave over a point: mean torque of the brake times mean speed. */
export function truePower_W({ block: { force }, us_per_tick }: Session, point: Point): number {
  const [from, to] = secondsOf(point, us_per_tick);
  return meanIn(force, force.torque_Nm, from, to) * meanIn(force, force.speed_rad_s, from, to);
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
  const flow_Lpmin = meanIn(block.flow, block.flow.flow_Lpmin, from, to);
  const [cold_C, warm_C] = [block.water.coolant_in_C, block.water.coolant_out_C].map((c) => meanIn(block.water, c, from, to)) as [number, number];
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
  let sum = 0;
  let n = 0;
  for (const p of points) {
    const [from, to] = secondsOf(p, session.us_per_tick);
    for (let s = Math.ceil(from); s < to - 1; s++) {
      sum += shares[s] as number;
      n++;
    }
  }
  return truePeak(plan.curve, sum / n, plan.peak_rad_s);
}

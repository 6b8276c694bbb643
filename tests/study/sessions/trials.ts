import { settingOf } from '../../../host/reduce/curve/at_setting.js';
import { torqueCurve } from '../../../host/reduce/curve/torque_curve.js';
import { heatBalance } from '../../../host/reduce/heat/balance.js';
import { findCoasts } from '../../../host/reduce/friction/capture.js';
import type { Coast } from '../../../host/reduce/friction/capture.js';
import { frictionAt, frictionOf } from '../../../host/reduce/friction/friction.js';
import { inertiaByRing } from '../../../host/reduce/friction/inertia.js';
import { findPoints } from '../../../host/reduce/points/find_points.js';
import type { Point } from '../../../host/reduce/points/point.js';
import { tickOf } from '../../../host/reduce/values/shaft.js';
import { known } from '../../../host/sense/uncertainty/quantity.js';
import type { Quantity } from '../../../host/sense/uncertainty/quantity.js';
import type { Draws, Rig } from '../coverage/plan.js';
import { reading } from '../coverage/trials.js';
import type { Read } from '../coverage/trials.js';
import { planOf } from './plan.js';
import type { SessionPlan } from './plan.js';
import { conduct } from './session.js';
import type { Session } from './session.js';
import { driveShares, trueCoolantHeat_W, truePeakOf, truePower_W } from './truth.js';

export const sessionQuantities = ['power_at_a_point', 'coolant_heat', 'peak_power', 'peak_speed', 'friction_torque'] as const;

/** One session, reduced by the code that ships, and each of its results beside what was. */
export function sessionReads(rig: Rig): Readonly<Record<(typeof sessionQuantities)[number], Read>> {
  const plan = planOf(rig);
  const session = conduct(plan, rig);
  const all = (r: Read): ReturnType<typeof sessionReads> => Object.fromEntries(sessionQuantities.map((q) => [q, r])) as ReturnType<typeof sessionReads>;
  if ('refused' in session) return all(session);
  const points = findPoints(session.sweep, session.knowledge);
  const one = points.length === 0 ? null : rig.own.pick(points);
  return {
    ...(one === null ? { power_at_a_point: { refused: 'no point was found' }, coolant_heat: { refused: 'no point was found' } } : atPoint(session, one)),
    ...peakReads(plan, session, points, rig.seed),
    friction_torque: reading(() => frictionRead(plan, session, rig.own)),
  };
}

function atPoint(session: Session, point: Point): { readonly power_at_a_point: Read; readonly coolant_heat: Read } {
  const { power_W, coolant_heat_W } = heatBalance(point.values, true);
  const truth_W = truePower_W(session, point);
  const heat_W = trueCoolantHeat_W(session, point);
  return {
    power_at_a_point: power_W.quantity === null ? { refused: power_W.reason ?? 'no power' } : { said: power_W.quantity, truth: truth_W, load: truth_W, since_zero_h: sinceZero_h(session, point), verified: point.values.verified },
    coolant_heat: coolant_heat_W.quantity === null ? { refused: coolant_heat_W.reason ?? 'no heat' } : { said: coolant_heat_W.quantity, truth: heat_W, load: heat_W, since_zero_h: 0, verified: coolant_heat_W.reason === null },
  };
}

function sinceZero_h({ knowledge, us_per_tick }: Session, { tick_from, tick_to }: Point): number {
  const middle = (tick_from + tick_to) / 2;
  return (Math.min(...knowledge.zeros.map((z) => Math.abs(z.tick - middle))) * us_per_tick) / 3.6e9;
}

function peakReads(plan: SessionPlan, session: Session, points: readonly Point[], seed: number): { readonly peak_power: Read; readonly peak_speed: Read } {
  const both = (r: Read): { readonly peak_power: Read; readonly peak_speed: Read } => ({ peak_power: r, peak_speed: r });
  const curve = torqueCurve(points, { settings: points.flatMap((p) => settingOf(session.sweep, session.knowledge, p) ?? []) });
  const [power, speed] = [curve.peak_power_W.quantity, curve.peak_speed_rpm.quantity];
  if (power === null || speed === null) return both({ refused: `${curve.state}: ${(curve.why ?? '').replace(/[-\d.]+/g, '#').slice(0, 60)}` });
  const end_s = session.block.to_s;
  const truth = truePeakOf(plan, session, points, driveShares(plan, seed, session.lit_s, end_s));
  const since_zero_h = points.reduce((s, p) => s + sinceZero_h(session, p) / points.length, 0);
  const rpm = (truth.speed_rad_s * 30) / Math.PI;
  return {
    peak_power: { said: power, truth: truth.power_W, load: truth.power_W, since_zero_h, verified: curve.verified },
    peak_speed: { said: speed, truth: rpm, load: rpm, since_zero_h: 0, verified: curve.verified },
  };
}

function frictionRead(plan: SessionPlan, session: Session, own: Draws): Read {
  const coast = oneCoast(session.coast, session);
  if ('refused' in coast) return coast;
  const inertia = inertiaOf(plan, session, coast, own);
  if ('refused' in inertia) return inertia;
  const friction = frictionOf(coast.slowing, inertia, 'coast', tickOf(session.coast));
  const [from, to] = friction.range_rad_s;
  const w = (from + to) / 2;
  const truth = plan.curve.friction_Nm(w);
  return { said: frictionAt(friction, w), truth, load: truth, since_zero_h: 0, verified: coast.warnings.length === 0 };
}

function oneCoast(span: Session['coast'], { knowledge }: Session): Coast | { readonly refused: string } {
  const { coasts, rejected } = findCoasts(span, knowledge);
  return coasts[0] ?? { refused: `no coast-down: ${(rejected[0]?.why ?? 'none seen').replace(/[-\d.]+/g, '#').slice(0, 60)}` };
}

function inertiaOf(plan: SessionPlan, session: Session, coast: Coast, own: Draws): Quantity | { readonly refused: string } {
  const truth = plan.ring_kgm2 ?? plan.inertia_kgm2;
  const u = plan.u_told_share * truth;
  const told = known(truth + u * own.normal(), 'kgm2', u, { id: 'inertia: as told', says: 'inertia as told', kind: 'systematic' });
  if (session.ring === null) return told;
  const ringed = oneCoast(session.ring, session);
  return 'refused' in ringed ? ringed : inertiaByRing(coast.slowing, ringed.slowing, told);
}

import { cycleHeat_W, CycleTorque } from '../../../firmware/twin/world/cycle.js';
import type { CycleRig } from '../../../firmware/twin/world/cycle.js';
import { HeatChain } from '../../../firmware/twin/world/heat.js';
import type { HeatRig } from '../../../firmware/twin/world/heat.js';
import { randomStream } from '../../../firmware/twin/world/random.js';
import type { RandomStream } from '../../../firmware/twin/world/random.js';
import { Wander } from '../../../firmware/twin/world/wander.js';
import { blankReading } from '../../../host/reduce/fade/reading.js';
import type { FadeReading } from '../../../host/reduce/fade/reading.js';

/** A fault from `t_s` on that grows over `ramp_s`; size is the twin's own, in the unit of the fault of that name. */
export interface CoarseFault {
  readonly kind: 'softening' | 'displacer_rub' | 'displacer_leak' | 'gas_leak' | 'drag' | 'flow_reduced' | 'brake_fade' | 'heater_fade' | 'air_growing' | 'coolant_warming' | 'zero_drift';
  readonly t_s: number;
  readonly ramp_s: number;
  readonly size: number;
  /** Of a rub: where; of softening: the phase at full size. */
  readonly angle_deg?: number;
}

export interface CoarseRig {
  readonly model: CycleRig;
  readonly heat: HeatRig;
  readonly dry_Nm: number;
  readonly viscous_Nms: number;
  readonly brake_Nms: number;
  readonly disc_K_per_W: number;
  readonly cyclic_share: number;
  readonly cyclic_phase_rad: number;
  readonly inertia_kgm2: number;
  readonly flow_Lpmin: number;
  readonly heater_share: number;
  readonly heater_slow_s: number;
  readonly inlet_K_per_h: number;
  /** Total slow wander of power wished for by the definition of healthy running. */
  readonly slow_share: number;
  /** And how long it remembers. */
  readonly slow_s: number;
}

const ROOM_C = 21;
const W_LEAST = 1;

/**
 * The twin's heat chain and cycle without board, cell and pickup: the shaft is always in balance, the step is a second, readings are
 * means of ten with noise of their own. It is simulated, and coarser than depth `samples`.
 */
export function coarseReadings(rig: CoarseRig, faults: readonly CoarseFault[], seed: number, to_s: number): FadeReading[] {
  const streams = (name: string): RandomStream => randomStream(seed, name);
  const wander = new Wander({ power: { white_share: 0.003 / 1.55, slow_share: rig.slow_share / 1.55, slow_s: rig.slow_s }, heater: { share: rig.heater_share, slow_s: rig.heater_slow_s }, inlet_K_per_h: rig.inlet_K_per_h, room_K_per_h: 0.5 }, streams);
  const noise = streams('coarse');
  const heat = new HeatChain(rig.heat);
  const cycle = new CycleTorque(rig.model);
  let w = 50;
  let work_W = 0;
  let drawn_W = 0;
  let warm_K = 0;
  for (let i = 0; i < 400; i++) {
    heat.step({ heat: 1, flow_Lpmin: rig.flow_Lpmin, work_W, drawn_W }, 60);
    cycle.feel(heat.cap_C, heat.jacket_C);
    ({ w, work_W } = balance(rig, cycle, w, { power: 1, friction: 1, rub: 0, leak: 0, windage: 0, brake: 1 / (1 + 0.0039 * warm_K) }));
    drawn_W = cycleHeat_W(work_W, w, rig.model.regenerator_J_K, heat.cap_C, heat.jacket_C);
    warm_K = rig.disc_K_per_W * rig.brake_Nms * w * w;
  }
  const readings: FadeReading[] = [];
  let sums = { n: 0, w: 0, T: 0, P: 0, hot: 0, in: 0, out: 0, flow: 0, skin: 0, cos: 0, sin: 0 };
  let bubble = 0;
  for (let t = 1; t <= to_s; t++) {
    wander.draw();
    if (t % 8 === 0) bubble = 2 * noise.uniform() - 1;
    const now = { power: wander.power, friction: 1, rub: 0, leak: rig.model.leak_rpm * (Math.PI / 30), windage: 0, brake: 1, flow: 1, heater: wander.heater, air: 0, inlet: wander.inlet_K(t), past: 0, zero: 0, phase: 0, rub_rad: 0 };
    for (const f of faults) {
      const d = f.size * Math.max(0, Math.min(1, f.ramp_s === 0 ? Number(t > f.t_s) : (t - f.t_s) / f.ramp_s));
      const angle = ((f.angle_deg ?? 0) * Math.PI) / 180;
      if (f.kind === 'softening') [now.power, now.friction, now.phase] = [now.power * (1 - d), now.friction * (1 + d / 4), now.phase + (angle * d) / f.size];
      else if (f.kind === 'displacer_rub') [now.rub, now.rub_rad] = [now.rub + d, angle];
      else if (f.kind === 'displacer_leak') [now.power, now.past] = [now.power * (1 - d), now.past + d * 0.75];
      else if (f.kind === 'gas_leak') now.leak += d * (Math.PI / 30);
      else if (f.kind === 'drag') now.windage += d;
      else if (f.kind === 'flow_reduced') now.flow *= 1 - d;
      else if (f.kind === 'brake_fade') now.brake *= 1 - d;
      else if (f.kind === 'heater_fade') now.heater *= 1 - d;
      else if (f.kind === 'air_growing') now.air = Math.max(0, Math.min(1, now.air + d * (1 + 0.2 * bubble)));
      else if (f.kind === 'coolant_warming') now.inlet += d;
      else now.zero += d;
    }
    heat.inlet_C = rig.heat.coolant_in_C + now.inlet;
    heat.room_C = ROOM_C + wander.room_K(t);
    heat.air_share = now.air;
    heat.step({ heat: now.heater, flow_Lpmin: rig.flow_Lpmin * now.flow, work_W, drawn_W }, 1);
    cycle.feel(heat.cap_C, heat.jacket_C);
    const tight_brake = now.brake / (1 + 0.0039 * warm_K);
    const b = balance(rig, cycle, w, { ...now, brake: tight_brake });
    ({ w, work_W } = b);
    drawn_W = cycleHeat_W(work_W, w, rig.model.regenerator_J_K, heat.cap_C, heat.jacket_C) + now.past * (heat.cap_C - heat.jacket_C);
    warm_K += (rig.disc_K_per_W * b.brake_Nm * w - warm_K) / 400;
    // The torque that swings once a turn: the drive's own, and what the rub takes.
    const own = rig.cyclic_share * b.drive_Nm;
    const phase = rig.cyclic_phase_rad + now.phase;
    const at = 1 / (rig.inertia_kgm2 * w * w);
    sums = {
      n: sums.n + 1,
      w: sums.w + w,
      T: sums.T + b.brake_Nm + now.zero,
      P: sums.P + (b.brake_Nm + now.zero) * w,
      hot: sums.hot + heat.cap_C,
      in: sums.in + heat.inlet_C,
      out: sums.out + heat.outlet_C,
      flow: sums.flow + rig.flow_Lpmin * now.flow,
      skin: sums.skin + heat.skin_C,
      cos: sums.cos + at * (own * Math.cos(phase) - now.rub * Math.sin(now.rub_rad)),
      sin: sums.sin + at * (own * Math.sin(phase) + now.rub * Math.cos(now.rub_rad)),
    };
    if (t % 10 !== 0) continue;
    const mean = (x: number, sd: number): number => x / sums.n + sd * noise.normal();
    const [inlet, outlet] = [mean(sums.in, 0.004), mean(sums.out, 0.004)];
    const flow = mean(sums.flow, 0.001 * rig.flow_Lpmin);
    const cell = 1 + 0.0005 * noise.normal();
    const [cos, sin] = [mean(sums.cos, 8e-6), mean(sums.sin, 8e-6)];
    readings.push({
      ...blankReading,
      t_s: t - 5,
      power_W: mean(sums.P, 0) * cell,
      speed_rpm: mean(sums.w, 0) * (30 / Math.PI),
      torque_Nm: mean(sums.T, 0) * cell,
      hot_C: mean(sums.hot, 0.03),
      coolant_in_C: inlet,
      coolant_out_C: outlet,
      coolant_difference_K: outlet - inlet,
      flow_Lpmin: flow,
      heat_W: (flow / 60) * 4172 * (outlet - inlet),
      skin_C: mean(sums.skin, 0.01),
      swing_share: Math.hypot(cos, sin),
      swing_deg: (Math.atan2(sin, cos) * 180) / Math.PI,
    });
    sums = { n: 0, w: 0, T: 0, P: 0, hot: 0, in: 0, out: 0, flow: 0, skin: 0, cos: 0, sin: 0 };
  }
  return readings;
}

/** Speed at which drive, friction and brake are in balance. */
function balance(rig: CoarseRig, cycle: CycleTorque, from: number, now: { readonly power: number; readonly friction: number; readonly rub: number; readonly leak: number; readonly windage: number; readonly brake: number }): { w: number; work_W: number; drive_Nm: number; brake_Nm: number } {
  let w = from;
  const parts = (v: number): { drive: number; over: number } => {
    const drive = (now.power * cycle.at(v) * v * v) / (v * v + now.leak * now.leak);
    return { drive, over: drive - now.friction * (rig.dry_Nm + rig.viscous_Nms * v) - now.rub - now.windage * v * v - now.brake * rig.brake_Nms * v };
  };
  for (let i = 0; i < 12; i++) {
    const f = parts(w).over;
    const slope = (parts(w * 1.001).over - f) / (0.001 * w);
    const step = -f / slope;
    w = Math.max(W_LEAST, w + Math.max(-0.2 * w, Math.min(0.2 * w, step)));
    if (Math.abs(step) < 1e-9 * w) break;
  }
  const { drive } = parts(w);
  return { w, work_W: drive * w, drive_Nm: drive, brake_Nm: now.brake * rig.brake_Nms * w };
}

/** How far power wanders in healthy running, and in the hard case, whose figures are reported and judged by nothing. */
export const healthy = { slow_share: 0.005, slow_s: 300 } as const;
export const hard = { slow_share: 0.01, slow_s: 600 } as const;

/** A small engine and its bench, drawn at random about Teasel's. */
export function drawRig(seed: number): CoarseRig {
  const r = randomStream(seed, 'rig');
  const about = (x: number, factor: number): number => x * factor ** (2 * r.uniform() - 1);
  return {
    model: {
      kind: 'cycle',
      geometry: { kind: 'gamma', hot_swept_cm3: about(60, 1.3), cold_swept_cm3: about(16, 1.3), phase_deg: 80 + 20 * r.uniform(), hot_dead_cm3: about(8, 1.4), cold_dead_cm3: about(12, 1.4), regenerator_cm3: about(6, 1.4) },
      mean_kPa: 101,
      share: about(0.42, 1.25),
      fall_rpm: about(900, 1.3),
      leak_rpm: about(60, 1.5),
      regenerator_J_K: about(0.004, 2),
    },
    heat: {
      ...{ heater_W: about(150, 1.4), room_C: ROOM_C, coolant_in_C: 12 + 13 * r.uniform(), cap_J_K: about(20, 1.8), wall_J_K: about(10, 1.6), jacket_J_K: about(60, 1.6) },
      ...{ jacket_water_L: 0.03, cap_room_W_K: about(0.12, 1.5), cap_wall_W_K: about(0.6, 1.4), wall_jacket_W_K: about(0.55, 1.4), jacket_water_W_K: about(4, 1.5) },
      ...{ jacket_room_W_K: 0.1, skin_share: 0.05 + 0.15 * r.uniform(), skin_lag_s: 20, junction_above_room_K: 3, junction_share: 0.01 },
    },
    dry_Nm: about(0.0035, 1.4),
    viscous_Nms: about(3e-5, 1.5),
    brake_Nms: about(0.00027, 2),
    disc_K_per_W: about(8, 1.5),
    cyclic_share: about(1.2, 1.4),
    cyclic_phase_rad: 2 * Math.PI * r.uniform(),
    inertia_kgm2: about(0.0021, 1.4),
    flow_Lpmin: about(0.4, 1.5),
    heater_share: 0.005,
    heater_slow_s: 120,
    inlet_K_per_h: r.uniform() < 0.5 ? 0.5 : -0.5,
    ...healthy,
  };
}

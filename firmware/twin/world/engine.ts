import { CycleTorque } from './cycle.js';
import type { CycleRig } from './cycle.js';

/** What turns the shaft and what it costs. Angles in rad, speeds in rad/s; positive is the running direction. */
export interface EngineRig {
  /** Moment of inertia of all that turns. */
  readonly inertia_kgm2: number;
  /** Friction torque is dry + viscous |w| + windage w^2, against the motion. */
  readonly friction_dry_Nm: number;
  readonly friction_viscous_Nms: number;
  readonly friction_windage_Nms2: number;
  /** Where the torque comes from the temperatures of hot and cold end; without it, from torque_curve and the heat level. */
  readonly model?: CycleRig;
  /** Indicated torque at full heat over speed; straight lines between the points, level outside them. */
  readonly torque_curve?: readonly { readonly speed_rpm: number; readonly torque_Nm: number }[];
  /** The torque swings by this share of its mean, once a revolution. */
  readonly cyclic_share: number;
  /** By how much the swing trails the shaft's own zero. */
  readonly cyclic_phase_deg?: number;
  /** First-order lag of the hot end behind its source. */
  readonly hot_lag_s: number;
  /** Heat level of the hot end at the start, 0..1. */
  readonly hot_start: number;
  readonly start_rpm: number;
}

export const rad_per_s = (rpm: number): number => (rpm * 2 * Math.PI) / 60;
export const rpm_of = (speed_rad_s: number): number => (speed_rad_s * 60) / (2 * Math.PI);

/** The torque curve as a table of equal speed steps: one look-up a step, whatever the number of points. */
export class TorqueCurve {
  readonly #speed_rad_s: Float64Array;
  readonly #torque_Nm: Float64Array;
  /** Segment of the last call: the speed moves slowly, so it is nearly always the same one. */
  #at = 0;

  constructor(points: NonNullable<EngineRig['torque_curve']>) {
    this.#speed_rad_s = Float64Array.from(points, (p) => rad_per_s(p.speed_rpm));
    this.#torque_Nm = Float64Array.from(points, (p) => p.torque_Nm);
  }

  at(w: number): number {
    const speed = this.#speed_rad_s;
    const torque = this.#torque_Nm;
    const last = speed.length - 1;
    if (w <= (speed[0] as number)) return torque[0] as number;
    if (w >= (speed[last] as number)) return torque[last] as number;
    let i = this.#at;
    while ((speed[i] as number) > w) i--;
    while ((speed[i + 1] as number) <= w) i++;
    this.#at = i;
    const w0 = speed[i] as number;
    const t0 = torque[i] as number;
    return t0 + (((torque[i + 1] as number) - t0) * (w - w0)) / ((speed[i + 1] as number) - w0);
  }
}

/** What the shaft's parts do otherwise than the rig says: of the build, of wear, of faults. */
export interface ShaftState {
  /** Multiply friction as a whole. */
  readonly friction: number;
  /** Added friction: over the square of the speed, and what rubs once a turn, most at an angle. */
  readonly windage_Nms2: number;
  readonly rub_Nm: number;
  readonly rub_rad: number;
  /** Rate at which the working gas leaks off: at that angular speed half of the torque is lost. */
  readonly leak_rad_s: number;
  /** The swing trails farther, by this. */
  readonly phase_rad: number;
}

export const SOUND: ShaftState = { friction: 1, windage_Nms2: 0, rub_Nm: 0, rub_rad: 0, leak_rad_s: 0, phase_rad: 0 };

/** Nothing turns it. */
const NO_TORQUE = [{ speed_rpm: 0, torque_Nm: 0 }];

/** Hot end: follows the source level with one time constant, exactly for a level held over the step. */
export class HotEnd {
  level: number;
  readonly #lag_s: number;
  #step_s: number;
  #keep: number;

  constructor(lag_s: number, start: number, step_s: number) {
    this.level = start;
    this.#lag_s = lag_s;
    this.#step_s = step_s;
    this.#keep = keptOver(step_s, lag_s);
  }

  step(source: number, step_s = this.#step_s): void {
    if (step_s !== this.#step_s) {
      this.#step_s = step_s;
      this.#keep = keptOver(step_s, this.#lag_s);
    }
    this.level = source + (this.level - source) * this.#keep;
  }
}

const keptOver = (step_s: number, lag_s: number): number => (lag_s > 0 ? Math.exp(-step_s / lag_s) : 0);

/** What holds the shaft back besides its own friction. */
export interface Retarder {
  /** Torque against the motion at |speed| `w`, never negative. At 0 it is what can hold the shaft still. */
  torque_Nm(w: number): number;
}

/**
 * The shaft, stepped at a fixed interval by the midpoint rule in double precision.
 * Within a step the speed is taken as a straight line, so angle and crossing times
 * are exact for the path that was integrated (and for constant acceleration).
 *
 * At rest, friction and brake hold as much as they must, up to what they can: a
 * rope brake stalls the engine, and it starts again only when the drive exceeds both.
 */
export class Shaft {
  angle_rad = 0;
  speed_rad_s: number;
  /** Angle and speed at the start of the last step. */
  angle_before_rad = 0;
  speed_before_rad_s: number;
  /** At the middle of the last step, at the end of the last leap; friction and brake are against the motion, so of its sign. */
  drive_Nm = 0;
  friction_Nm = 0;
  brake_Nm = 0;
  /** Of the last leap only: brake at its start, its mean, drive's work and mean braking power. */
  brake_before_Nm = 0;
  mean_brake_Nm = 0;
  work_J = 0;
  braking_W = 0;

  #acceleration = 0;
  /** The cycle that turns it, if it is one. */
  readonly cycle: CycleTorque | null;
  readonly #rig: EngineRig;
  readonly #curve: { at(w: number): number };
  readonly #dt: number;
  readonly #perInertia: number;
  #dry_Nm = 0;
  #viscous_Nms = 0;
  #windage_Nms2 = 0;
  #rub_Nm = 0;
  #rub_rad = 0;
  #leak2 = 0;
  #phase_rad = 0;

  constructor(rig: EngineRig, step_s: number) {
    this.#rig = rig;
    this.cycle = rig.model?.kind === 'cycle' ? new CycleTorque(rig.model) : null;
    this.#curve = this.cycle ?? new TorqueCurve(rig.model === undefined ? (rig.torque_curve ?? NO_TORQUE) : NO_TORQUE);
    this.be(SOUND);
    this.#dt = step_s;
    this.#perInertia = 1 / rig.inertia_kgm2;
    this.speed_rad_s = rad_per_s(rig.start_rpm);
    this.speed_before_rad_s = this.speed_rad_s;
  }

  /** Takes a new state of its parts on, from now. */
  be(state: ShaftState): void {
    const rig = this.#rig;
    this.#dry_Nm = rig.friction_dry_Nm * state.friction;
    this.#viscous_Nms = rig.friction_viscous_Nms * state.friction;
    this.#windage_Nms2 = rig.friction_windage_Nms2 * state.friction + state.windage_Nms2;
    this.#rub_Nm = state.rub_Nm;
    this.#rub_rad = state.rub_rad;
    const leak_rad_s = Math.max(0, state.leak_rad_s + rad_per_s(rig.model?.leak_rpm ?? 0));
    this.#leak2 = leak_rad_s * leak_rad_s;
    this.#phase_rad = ((rig.cyclic_phase_deg ?? 0) * Math.PI) / 180 + state.phase_rad;
  }

  step(heat: number, brake: Retarder, dt = this.#dt): void {
    const w0 = this.speed_rad_s;
    const a0 = this.angle_rad;
    const half = this.#after(w0, a0, heat, brake, dt / 2, w0);
    const w1 = this.#after(half, a0 + ((w0 + half) * dt) / 4, heat, brake, dt, w0);
    this.angle_before_rad = a0;
    this.speed_before_rad_s = w0;
    this.speed_rad_s = w1;
    this.angle_rad = a0 + ((w0 + w1) * dt) / 2;
  }

  /** Greatest acceleration of the torque's swing at this heat and speed. */
  swing_rad_s2(heat: number): number {
    return (heat * this.#rig.cyclic_share * Math.abs(this.#curve.at(this.speed_rad_s)) + this.#rub_Nm) * this.#perInertia;
  }

  /** Readies leap(): heat or brake may have been set anew. @returns the acceleration now, the shaft taken as turning forwards */
  beforeLeaps(heat: number, brake: Retarder): number {
    this.#acceleration = this.#accelerationAt(this.speed_rad_s, this.angle_rad, heat, brake);
    return this.#acceleration;
  }

  /**
   * A step of any length for a shaft that turns forwards all through it: the path's acceleration as a
   * parabola through start, middle and end (Simpson's rule for the speed, its double integral for the angle).
   * The error of the speed is swing * dt * (turned rad)^4 / 2880, and mostly cancels over a turn.
   */
  leap(heat: number, brake: Retarder, dt: number): void {
    const w0 = this.speed_rad_s;
    const a0 = this.angle_rad;
    const f0 = this.#acceleration;
    const drive0 = this.drive_Nm;
    const brake0 = this.brake_Nm;
    const wm = w0 + (f0 * dt) / 2;
    const fm = this.#accelerationAt(wm, a0 + ((w0 + wm) * dt) / 4, heat, brake);
    const driveM = this.drive_Nm;
    const brakeM = this.brake_Nm;
    const a1 = a0 + dt * (w0 + (dt * (f0 + 2 * fm)) / 6);
    const guess = w0 + fm * dt;
    const f1 = this.#accelerationAt(guess, a1, heat, brake);
    const w1 = w0 + ((f0 + 4 * fm + f1) * dt) / 6;
    this.#acceleration = f1;
    this.angle_before_rad = a0;
    this.speed_before_rad_s = w0;
    this.angle_rad = a1;
    this.speed_rad_s = w1;
    this.mean_brake_Nm = (brake0 + 4 * brakeM + this.brake_Nm) / 6;
    this.brake_before_Nm = brake0;
    this.work_J = ((drive0 * w0 + 4 * driveM * wm + this.drive_Nm * w1) * dt) / 6;
    this.braking_W = (brake0 * w0 + 4 * brakeM * wm + this.brake_Nm * w1) / 6;
  }

  #accelerationAt(w: number, angle: number, heat: number, brake: Retarder): number {
    this.drive_Nm = this.#driveAt(w, angle, heat);
    this.friction_Nm = this.#frictionAt(w, angle);
    this.brake_Nm = brake.torque_Nm(w);
    return (this.drive_Nm - this.friction_Nm - this.brake_Nm) * this.#perInertia;
  }

  #driveAt(w: number, angle: number, heat: number): number {
    const { cyclic_share } = this.#rig;
    const swing = cyclic_share === 0 ? 1 : 1 + cyclic_share * Math.sin(angle - this.#phase_rad);
    const tight_Nm = heat * swing * this.#curve.at(w);
    if (this.#leak2 === 0) return tight_Nm;
    // Pressure that leaks off at a rate: the part still in step with the volume at angular speed w.
    const w2 = w * w;
    return (tight_Nm * w2) / (w2 + this.#leak2);
  }

  /** At |speed| w. */
  #frictionAt(w: number, angle: number): number {
    const smooth_Nm = this.#dry_Nm + w * (this.#viscous_Nms + w * this.#windage_Nms2);
    return this.#rub_Nm === 0 ? smooth_Nm : smooth_Nm + this.#rub_Nm * (1 + Math.cos(angle - this.#rub_rad));
  }

  /** Speed at the end of `dt` begun at `from`, with the torques that hold at speed `w` and `angle`. */
  #after(w: number, angle: number, heat: number, brake: Retarder, dt: number, from: number): number {
    const magnitude = Math.abs(w);
    const drive = this.#driveAt(w, angle, heat);
    const friction = this.#frictionAt(magnitude, angle);
    const held = brake.torque_Nm(magnitude);
    this.drive_Nm = drive;
    const direction = w > 0 ? 1 : w < 0 ? -1 : Math.sign(drive);
    if (w === 0 && Math.abs(drive) <= friction + held) {
      // Friction holds first; the brake, and with it the arm, only carries the rest.
      this.friction_Nm = direction * Math.min(Math.abs(drive), friction);
      this.brake_Nm = drive - this.friction_Nm;
      return 0;
    }
    this.friction_Nm = direction * friction;
    this.brake_Nm = direction * held;
    const next = from + (drive - this.friction_Nm - this.brake_Nm) * this.#perInertia * dt;
    // What only resists can bring the shaft to rest, never turn it backwards within one step.
    return next * direction < 0 && drive * direction <= friction + held ? 0 : next;
  }
}

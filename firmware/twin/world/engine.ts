/** What turns the shaft and what it costs. Angles in rad, speeds in rad/s; positive is the running direction. */
export interface EngineRig {
  /** Moment of inertia of all that turns. */
  readonly inertia_kgm2: number;
  /** Friction torque is dry + viscous |w| + windage w^2, against the motion. */
  readonly friction_dry_Nm: number;
  readonly friction_viscous_Nms: number;
  readonly friction_windage_Nms2: number;
  /** Indicated torque at full heat over speed; straight lines between the points, level outside them. */
  readonly torque_curve: readonly { readonly speed_rpm: number; readonly torque_Nm: number }[];
  /** The torque swings by this share of its mean, once a revolution. */
  readonly cyclic_share: number;
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

  constructor(points: EngineRig['torque_curve']) {
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
  readonly #rig: EngineRig;
  readonly #curve: TorqueCurve;
  readonly #dt: number;
  readonly #perInertia: number;

  constructor(rig: EngineRig, step_s: number) {
    this.#rig = rig;
    this.#curve = new TorqueCurve(rig.torque_curve);
    this.#dt = step_s;
    this.#perInertia = 1 / rig.inertia_kgm2;
    this.speed_rad_s = rad_per_s(rig.start_rpm);
    this.speed_before_rad_s = this.speed_rad_s;
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
    return heat * this.#rig.cyclic_share * Math.abs(this.#curve.at(this.speed_rad_s)) * this.#perInertia;
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
    const rig = this.#rig;
    const swing = rig.cyclic_share === 0 ? 1 : 1 + rig.cyclic_share * Math.sin(angle);
    this.drive_Nm = heat * swing * this.#curve.at(w);
    this.friction_Nm = rig.friction_dry_Nm + w * (rig.friction_viscous_Nms + w * rig.friction_windage_Nms2);
    this.brake_Nm = brake.torque_Nm(w);
    return (this.drive_Nm - this.friction_Nm - this.brake_Nm) * this.#perInertia;
  }

  /** Speed at the end of `dt` begun at `from`, with the torques that hold at speed `w` and `angle`. */
  #after(w: number, angle: number, heat: number, brake: Retarder, dt: number, from: number): number {
    const rig = this.#rig;
    const magnitude = Math.abs(w);
    const swing = rig.cyclic_share === 0 ? 1 : 1 + rig.cyclic_share * Math.sin(angle);
    const drive = heat * swing * this.#curve.at(w);
    const friction = rig.friction_dry_Nm + magnitude * (rig.friction_viscous_Nms + magnitude * rig.friction_windage_Nms2);
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

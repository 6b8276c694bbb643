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
  readonly #keep: number;

  constructor(lag_s: number, start: number, step_s: number) {
    this.level = start;
    this.#keep = lag_s > 0 ? Math.exp(-step_s / lag_s) : 0;
  }

  step(source: number): void {
    this.level = source + (this.level - source) * this.#keep;
  }
}

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
  /** At the middle of the last step; friction and brake are against the motion, so of its sign. */
  drive_Nm = 0;
  friction_Nm = 0;
  brake_Nm = 0;

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

  step(heat: number, brake: Retarder): void {
    const dt = this.#dt;
    const w0 = this.speed_rad_s;
    const a0 = this.angle_rad;
    const half = this.#after(w0, a0, heat, brake, dt / 2, w0);
    const w1 = this.#after(half, a0 + ((w0 + half) * dt) / 4, heat, brake, dt, w0);
    this.angle_before_rad = a0;
    this.speed_before_rad_s = w0;
    this.speed_rad_s = w1;
    this.angle_rad = a0 + ((w0 + w1) * dt) / 2;
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

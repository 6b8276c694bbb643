export interface ArmRig {
  /** From the shaft's axis to the line of the cell's force. Masses hang there unless an act says where. */
  readonly length_m: number;
  /** Frequency at which the arm rings on its cell. */
  readonly ring_Hz: number;
  /** Share of critical damping, 0..1 (1: no overshoot). */
  readonly damping: number;
  /** The cell's line departs from the square on the arm: its lever is shorter by the cosine. */
  readonly off_square_deg?: number;
  /** The arm departs from level: the lever of what hangs at a radius is shorter by the cosine. */
  readonly off_level_deg?: number;
  /** Masses hang farther out than they are said to. */
  readonly hang_radius_error_m?: number;
  /** Dry friction of the cradle's bearings each way, and what a turning shaft leaves of it. */
  readonly stiction?: { readonly band_Nm: number; readonly turning_share: number };
}

/**
 * The brake arm on its cell: a mass on a damped spring. The cell feels the spring's
 * force, so a step of torque rings before it settles.
 *
 * The step is the exact solution for a force held over it (matrix exponential), so
 * no ring frequency is too fast for the step to be stable.
 */
export class Arm {
  /** What the cell feels. */
  force_N = 0;
  /** Rate of that force, the second state of the oscillator. */
  #rate_N_s = 0;
  readonly #m: readonly [number, number, number, number];

  constructor(rig: ArmRig, step_s: number) {
    const w0 = 2 * Math.PI * rig.ring_Hz;
    const decay = rig.damping * w0;
    const e = Math.exp(-decay * step_s);
    const wd = w0 * Math.sqrt(1 - rig.damping * rig.damping);
    const cos = Math.cos(wd * step_s);
    // sin(wd dt)/wd, which is dt where the damping is critical
    const s = wd * step_s > 1e-9 ? Math.sin(wd * step_s) / wd : step_s;
    this.#m = [e * (cos + decay * s), e * s, -e * w0 * w0 * s, e * (cos - decay * s)];
  }

  step(applied_N: number): void {
    const m = this.#m;
    const x = this.force_N - applied_N;
    const v = this.#rate_N_s;
    this.force_N = applied_N + m[0] * x + m[1] * v;
    this.#rate_N_s = m[2] * x + m[3] * v;
  }

  /** Puts the arm at rest under a force. */
  rest(applied_N: number): void {
    this.force_N = applied_N;
    this.#rate_N_s = 0;
  }
}

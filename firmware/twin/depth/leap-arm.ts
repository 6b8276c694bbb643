import type { ArmRig } from '../world/arm.js';

/** What a step of one length does to the arm. */
export interface Ringing {
  readonly step_s: number;
  readonly xx: number;
  readonly xv: number;
  readonly vx: number;
  readonly vv: number;
}

/**
 * The arm on its cell over steps of any length: the exact solution of the damped oscillator for a
 * force that goes straight over the step, and the exact integral of what the cell feels.
 */
export class LeapArm {
  force_N = 0;
  /** Integral of force_N since it was last set to 0. */
  integral_Ns = 0;
  #rate_N_s = 0;
  readonly #w0: number;
  readonly #decay: number;
  readonly #wd: number;
  /** 2 damping / w0: how long the cell's force trails a steadily rising one. */
  readonly #trail_s: number;
  readonly #perStiffness: number;

  constructor(rig: ArmRig) {
    this.#w0 = 2 * Math.PI * rig.ring_Hz;
    this.#decay = rig.damping * this.#w0;
    this.#wd = this.#w0 * Math.sqrt(1 - rig.damping * rig.damping);
    this.#trail_s = (2 * rig.damping) / this.#w0;
    this.#perStiffness = 1 / (this.#w0 * this.#w0);
  }

  /** Matrix exponential of the free oscillator. */
  ringing(step_s: number): Ringing {
    const e = Math.exp(-this.#decay * step_s);
    const cos = Math.cos(this.#wd * step_s);
    // sin(wd dt)/wd, which is dt where the damping is critical
    const s = this.#wd * step_s > 1e-9 ? Math.sin(this.#wd * step_s) / this.#wd : step_s;
    return { step_s, xx: e * (cos + this.#decay * s), xv: e * s, vx: -e * this.#w0 * this.#w0 * s, vv: e * (cos - this.#decay * s) };
  }

  /** One step of the applied force's mean, and its rise from start to end. */
  step(r: Ringing, mean_N: number, rise_N: number): void {
    const rate_N_s = rise_N / r.step_s;
    const trailing_N = mean_N - rate_N_s * this.#trail_s;
    const x0 = this.force_N;
    const v0 = this.#rate_N_s;
    const x = x0 - (trailing_N - rise_N / 2);
    const v = v0 - rate_N_s;
    const x1 = trailing_N + rise_N / 2 + r.xx * x + r.xv * v;
    const v1 = rate_N_s + r.vx * x + r.vv * v;
    this.force_N = x1;
    this.#rate_N_s = v1;
    // From x'' + 2 d w0 x' + w0^2 x = w0^2 u, integrated over the step.
    this.integral_Ns += mean_N * r.step_s - this.#trail_s * (x1 - x0) - (v1 - v0) * this.#perStiffness;
  }
}

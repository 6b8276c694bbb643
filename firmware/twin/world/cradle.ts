import type { ArmRig } from './arm.js';

/**
 * The brake's cradle: what the torque on the arm and what hangs on it come to at the cell, and the friction
 * of its bearings, which holds back whatever change is smaller than its band.
 */
export class Cradle {
  /** What hangs on the arm, as force at the cell. */
  hung_N = 0;
  readonly #rig: ArmRig;
  /** Lever of the cell's force. */
  readonly #lever_m: number;
  readonly #band_N: number;
  #applied_N = 0;
  #felt_N = 0;
  /** Whether the last change came through. */
  slips = true;

  constructor(rig: ArmRig) {
    this.#rig = rig;
    this.#lever_m = rig.length_m * cos(rig.off_square_deg ?? 0);
    this.#band_N = (rig.stiction?.band_Nm ?? 0) / this.#lever_m;
  }

  /** @param radius_m as measured along the arm; left out: straight on the cell's line */
  hang(weight_N: number, radius_m?: number): void {
    const { length_m, hang_radius_error_m = 0, off_level_deg = 0 } = this.#rig;
    if (radius_m === undefined) this.hung_N = hang_radius_error_m === 0 ? weight_N : weight_N * (1 + hang_radius_error_m / length_m);
    else this.hung_N = (weight_N * (radius_m + hang_radius_error_m) * cos(off_level_deg)) / this.#lever_m;
  }

  /** A torque alone, as force at the cell. */
  atCell_N(torque_Nm: number): number {
    return torque_Nm / this.#lever_m;
  }

  /**
   * What comes through the bearings of a torque and of what hangs. Friction is a play: the cell
   * follows only what has gone beyond the band, which the vibration of a turning shaft shrinks.
   */
  feel_N(torque_Nm: number, turning: boolean): number {
    const applied_N = this.atCell_N(torque_Nm) + this.hung_N;
    if (this.#band_N === 0) return applied_N;
    const band_N = turning ? this.#band_N * (this.#rig.stiction?.turning_share ?? 0) : this.#band_N;
    const felt_N = Math.min(applied_N + band_N, Math.max(applied_N - band_N, this.#felt_N));
    this.slips = felt_N !== this.#felt_N;
    this.#applied_N = applied_N;
    this.#felt_N = felt_N;
    return felt_N;
  }

  /** Somebody taps the arm: for a moment there is no friction. */
  tap(): void {
    this.#felt_N = this.#applied_N;
  }
}

const cos = (angle_deg: number): number => Math.cos((angle_deg * Math.PI) / 180);

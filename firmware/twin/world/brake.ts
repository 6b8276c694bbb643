import type { Retarder } from './engine.js';

export interface RopeRig {
  readonly kind: 'rope';
  /** Difference of the two rope forces, F1 - F2, at setting 1. */
  readonly force_difference_full_N: number;
  readonly drum_diameter_m: number;
  readonly rope_diameter_m: number;
}

export interface EddyRig {
  readonly kind: 'eddy';
  /** Torque per speed at setting 1, cold, far below the critical speed. */
  readonly coefficient_full_Nms: number;
  /** Speed of greatest torque, disc cold. */
  readonly critical_rpm: number;
  /** Rise of the disc's resistivity per kelvin; for aluminium about 0.004. */
  readonly resistivity_per_K: number;
  readonly disc_heat_capacity_J_K: number;
  /** Heat that the disc gives off to the room. */
  readonly disc_cooling_W_K: number;
}

export type BrakeRig = RopeRig | EddyRig;

export interface Brake extends Retarder {
  /** 0: off, 1: full. */
  setting: number;
  /** What it still does of its torque, whatever the disc's heat; 1: all. */
  strength: number;
  /** Warming of the disc above the room; 0 for a rope. */
  readonly warm_K: number;
  /** Lets the braking power of one step heat the brake. */
  absorb(power_W: number, step_s: number): void;
}

export function makeBrake(rig: BrakeRig): Brake {
  return rig.kind === 'rope' ? new RopeBrake(rig) : new EddyBrake(rig);
}

/** T = (F1 - F2) (D + d) / 2: the same at any speed, also at none, so it can stall the engine. */
class RopeBrake implements Brake {
  setting = 0;
  strength = 1;
  readonly warm_K = 0;
  readonly #full_Nm: number;

  constructor(rig: RopeRig) {
    this.#full_Nm = (rig.force_difference_full_N * (rig.drum_diameter_m + rig.rope_diameter_m)) / 2;
  }

  torque_Nm(): number {
    return this.setting * this.#full_Nm * this.strength;
  }

  absorb(): void {
    // The rope's friction coefficient is not modelled over heat: its two forces are what is set.
  }
}

/**
 * T = k w / (1 + (w / wc)^2) (the classical law: linear far below the critical
 * speed, greatest at it). Heat raises the disc's resistivity by r: k falls by r,
 * wc rises by r, so the greatest torque stays and the point creeps.
 */
class EddyBrake implements Brake {
  setting = 0;
  strength = 1;
  warm_K = 0;
  readonly #rig: EddyRig;
  readonly #critical_rad_s: number;

  constructor(rig: EddyRig) {
    this.#rig = rig;
    this.#critical_rad_s = (rig.critical_rpm * 2 * Math.PI) / 60;
  }

  torque_Nm(w: number): number {
    const r = 1 + this.#rig.resistivity_per_K * this.warm_K;
    const x = w / (this.#critical_rad_s * r);
    return ((this.setting * this.#rig.coefficient_full_Nms * w) / (r * (1 + x * x))) * this.strength;
  }

  absorb(power_W: number, step_s: number): void {
    const rig = this.#rig;
    this.warm_K += ((power_W - rig.disc_cooling_W_K * this.warm_K) * step_s) / rig.disc_heat_capacity_J_K;
  }
}

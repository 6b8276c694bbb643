/** What a fault that lasts does to the bench. */
export interface LastingRig {
  readonly t_s: number;
  /** From nothing to its size, in a straight line; 0: at once. */
  readonly ramp_s: number;
  /** Then it is gone; without it, it stays. */
  readonly for_s?: number;
}

/** Grows only while a part is warmer than that. */
export interface WarmthRig {
  readonly above_C: number;
  /** Where the part sits between jacket (0) and hot cap (1). */
  readonly part_share: number;
  /** It goes back as fast when the part is cold again. */
  readonly recovers: boolean;
}

export type LastingFault =
  | (LastingRig & { readonly kind: 'softening'; readonly power_share: number; readonly friction_share: number; readonly phase_deg: number; readonly warmth?: WarmthRig })
  | (LastingRig & { readonly kind: 'displacer_rub'; readonly friction_Nm: number; readonly angle_deg: number; readonly warmth?: WarmthRig })
  | (LastingRig & { readonly kind: 'displacer_leak'; readonly power_share: number; readonly heat_W_K: number })
  | (LastingRig & { readonly kind: 'gas_leak'; readonly leak_rpm: number })
  | (LastingRig & { readonly kind: 'regenerator_tight'; readonly windage_Nms2: number })
  | (LastingRig & { readonly kind: 'regenerator_poor'; readonly power_share: number; readonly heat_J_K: number })
  | (LastingRig & { readonly kind: 'flow_reduced' | 'brake_fade' | 'heater_fade'; readonly share: number })
  | (LastingRig & { readonly kind: 'air_growing'; readonly share: number; readonly jumpy_share: number })
  | (LastingRig & { readonly kind: 'coolant_warming'; readonly rise_K: number })
  | (LastingRig & { readonly kind: 'zero_drift'; readonly counts: number });

/** How far a lasting fault has come, 0 to 1. */
export class Wear {
  depth = 0;
  readonly fault: LastingFault;
  readonly #begun_s: number;
  #at_s: number;

  constructor(fault: LastingFault, begun_s: number) {
    this.fault = fault;
    this.#begun_s = begun_s;
    this.#at_s = begun_s;
  }

  /** Nothing moves it any more. */
  get settled(): boolean {
    const { fault } = this;
    if ('warmth' in fault) return this.depth === 1 && !fault.warmth.recovers;
    return this.depth === 1 && !(fault.kind === 'air_growing' && fault.jumpy_share > 0);
  }

  follow(t_s: number, jacket_C: number, cap_C: number): void {
    const { fault } = this;
    const { ramp_s } = fault;
    const span_s = t_s - this.#at_s;
    this.#at_s = t_s;
    if ('warmth' in fault) {
      const { above_C, part_share, recovers } = fault.warmth;
      const warm = jacket_C + part_share * (cap_C - jacket_C) > above_C;
      const step = ramp_s === 0 ? 1 : span_s / ramp_s;
      this.depth = clamped(this.depth + (warm ? step : recovers ? -step : 0));
    } else this.depth = ramp_s === 0 ? 1 : clamped((t_s - this.#begun_s) / ramp_s);
  }
}

const clamped = (x: number): number => Math.max(0, Math.min(1, x));

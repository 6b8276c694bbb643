import { Decay } from './decay.js';
import type { RandomStream } from './random.js';

/** How a sound bench is never quite the same. Shares are standard deviations. */
export interface WanderRig {
  /** Of the indicated torque: white, by its means over 10 s, and slow, with its correlation time. */
  readonly power: { readonly white_share: number; readonly slow_share: number; readonly slow_s: number };
  readonly heater: { readonly share: number; readonly slow_s: number };
  readonly inlet_K_per_h: number;
  readonly room_K_per_h: number;
}

/** It is drawn anew this often. */
export const DRAW_s = 1;
const MEAN_OVER_s = 10;

/** The wander of one bench, a draw a second. */
export class Wander {
  power = 1;
  heater = 1;
  #power_slow: number;
  #heater_slow: number;
  readonly #rig: WanderRig;
  readonly #white: RandomStream;
  readonly #slow: RandomStream;
  readonly #heat: RandomStream;
  readonly #power_kept: number;
  readonly #heater_kept: number;

  constructor(rig: WanderRig, streams: (name: string) => RandomStream) {
    this.#rig = rig;
    this.#white = streams('wander.power.white');
    this.#slow = streams('wander.power.slow');
    this.#heat = streams('wander.heater');
    this.#power_kept = new Decay(rig.power.slow_s).over(DRAW_s).kept;
    this.#heater_kept = new Decay(rig.heater.slow_s).over(DRAW_s).kept;
    this.#power_slow = this.#slow.normal();
    this.#heater_slow = this.#heat.normal();
  }

  /** The next second. */
  draw(): void {
    const { power, heater } = this.#rig;
    const white = power.white_share * Math.sqrt(MEAN_OVER_s / DRAW_s) * this.#white.normal();
    this.power = Math.max(0, 1 + white + power.slow_share * this.#power_slow);
    this.heater = Math.max(0, 1 + heater.share * this.#heater_slow);
    this.#power_slow = next(this.#power_slow, this.#power_kept, this.#slow);
    this.#heater_slow = next(this.#heater_slow, this.#heater_kept, this.#heat);
  }

  inlet_K(t_s: number): number {
    return (this.#rig.inlet_K_per_h * t_s) / 3600;
  }

  room_K(t_s: number): number {
    return (this.#rig.room_K_per_h * t_s) / 3600;
  }
}

/** One step of a process of unit variance that forgets itself. */
const next = (x: number, kept: number, stream: RandomStream): number => x * kept + Math.sqrt(1 - kept * kept) * stream.normal();

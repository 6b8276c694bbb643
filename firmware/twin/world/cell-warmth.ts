import { Decay } from './decay.js';

export interface CellWarmthRig {
  readonly zero_counts_per_K: number;
  /** Change of the slope, as a share of it. */
  readonly slope_share_per_K: number;
  /** What the cell gets of the hot cap's excess over the room. */
  readonly hot_share: number;
  /** How slowly it follows. */
  readonly lag_s: number;
  /** The air at the cell swings about the room's temperature, by this each way. */
  readonly room_swing_K: number;
  readonly room_swing_period_s: number;
}

/** How warm the load cell is, against the room: it follows air and hot cap behind a lag. */
export class CellWarmth {
  above_room_K: number;
  readonly #rig: CellWarmthRig;
  /** The hot cap's excess over the room, now. */
  readonly #hot_K: () => number;
  readonly #decay: Decay;

  /** Begins as it would stand after a long time. */
  constructor(rig: CellWarmthRig, hot_K: () => number) {
    this.#rig = rig;
    this.#hot_K = hot_K;
    this.#decay = new Decay(rig.lag_s);
    this.above_room_K = this.#goal_K(0);
  }

  /** `span_s` have gone by until `t_s`: exact for surroundings that held meanwhile. */
  follow(t_s: number, span_s: number): void {
    const goal_K = this.#goal_K(t_s);
    this.above_room_K += (goal_K - this.above_room_K) * this.#decay.over(span_s).lost;
  }

  #goal_K(t_s: number): number {
    const { hot_share, room_swing_K, room_swing_period_s } = this.#rig;
    const swing_K = room_swing_K === 0 ? 0 : room_swing_K * Math.sin((2 * Math.PI * t_s) / room_swing_period_s);
    return hot_share * this.#hot_K() + swing_K;
  }
}

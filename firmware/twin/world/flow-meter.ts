import type { RandomStream } from './random.js';

export interface FlowMeterRig {
  readonly pulses_per_L: number;
  /** The turbine's drag: pulses a second that are missing at any flow. Below it the meter stands. */
  readonly offset_Hz: number;
  /** pulses_per_L is off by a share of itself that rises to `share` at a flow and falls beyond it. */
  readonly curve?: { readonly share: number; readonly at_Lpmin: number };
  /** No vane is like the next: standard deviation of a change of the line, as a share of a pulse. */
  readonly jitter_share?: number;
}

/** A change comes at most this share of a pulse early or late: they stay in order. */
const JITTER_MAX = 0.2;

/** Pulses to a litre at a flow, before the drag. The shape, a hump from nothing at no flow, is ours. */
export function pulses_per_L(flow_Lpmin: number, { pulses_per_L: nominal, curve }: FlowMeterRig): number {
  if (curve === undefined) return nominal;
  const x = flow_Lpmin / curve.at_Lpmin;
  return nominal * (1 + curve.share * x * Math.exp(1 - x));
}

/** A turbine with a hall switch: pulls its line down for the first half of every pulse. */
export class FlowMeter {
  /** Water that has gone through. */
  passed_L = 0;
  /** In half pulses. */
  #turned = 0;
  /** The next change of the line, and where it comes. */
  #n = 1;
  #at = 1;
  readonly #rig: FlowMeterRig;
  readonly #jitter: RandomStream | undefined;

  constructor(rig: FlowMeterRig, jitter?: RandomStream) {
    this.#rig = rig;
    this.#jitter = (rig.jitter_share ?? 0) > 0 ? jitter : undefined;
    this.#next(1);
  }

  /** One step begun at `t_s` at a steady flow. Reports each change of the line. */
  step(t_s: number, dt_s: number, flow_Lpmin: number, sink: (t_s: number, level: 0 | 1) => void): void {
    this.passed_L += (flow_Lpmin * dt_s) / 60;
    const rate_Hz = (pulses_per_L(flow_Lpmin, this.#rig) * flow_Lpmin) / 60 - this.#rig.offset_Hz;
    if (rate_Hz <= 0) return;
    const before = this.#turned;
    const after = before + 2 * rate_Hz * dt_s;
    this.#turned = after;
    while (this.#at <= after) {
      sink(t_s + (this.#at - before) / (2 * rate_Hz), this.#n % 2 === 1 ? 0 : 1);
      this.#next(this.#n + 1);
    }
  }

  #next(n: number): void {
    this.#n = n;
    this.#at = n;
    if (this.#jitter === undefined) return;
    const share = this.#jitter.normal() * (this.#rig.jitter_share ?? 0);
    this.#at += 2 * Math.max(-JITTER_MAX, Math.min(JITTER_MAX, share));
  }
}

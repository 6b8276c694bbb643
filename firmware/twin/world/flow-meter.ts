export interface FlowMeterRig {
  readonly pulses_per_L: number;
  /** The turbine's drag: pulses a second that are missing at any flow. Below it the meter stands. */
  readonly offset_Hz: number;
}

/** A turbine with a hall switch: pulls its line down for the first half of every pulse. */
export class FlowMeter {
  /** In half pulses. */
  #turned = 0;
  readonly #rig: FlowMeterRig;

  constructor(rig: FlowMeterRig) {
    this.#rig = rig;
  }

  /** One step begun at `t_s` at a steady flow. Reports each change of the line. */
  step(t_s: number, dt_s: number, flow_Lpmin: number, sink: (t_s: number, level: 0 | 1) => void): void {
    const rate_Hz = (this.#rig.pulses_per_L * flow_Lpmin) / 60 - this.#rig.offset_Hz;
    if (rate_Hz <= 0) return;
    const before = this.#turned;
    const after = before + 2 * rate_Hz * dt_s;
    this.#turned = after;
    for (let n = Math.floor(before) + 1; n <= after; n++) sink(t_s + (n - before) / (2 * rate_Hz), n % 2 === 1 ? 0 : 1);
  }
}

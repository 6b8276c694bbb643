import type { Cell } from './cell.js';

export interface ConverterRig {
  /** What the rate pin is strapped to. */
  readonly rate_nominal_Hz: 10 | 80;
  /** How far its own oscillator is off: 0.039 makes an "80" run at 83.1. */
  readonly rate_error: number;
}

export interface Conversion {
  /** When the result became ready. */
  readonly t_s: number;
  readonly count: number;
  /** True force on the cell at that moment. */
  readonly force_N: number;
  /** What the count stands for: the force as the converter's filter saw it over its last four periods. */
  readonly filtered_N: number;
  /** Number of the power-up that it belongs to: a result of an earlier one is never shown. */
  readonly power_up: number;
  /** True for the first four after power-up. */
  readonly settling: boolean;
}

/** Conversions until the output has followed a step (hx711 sheet: 400 ms at 10 a second). */
export const SETTLING_CONVERSIONS = 4;

/**
 * Share of the last four periods' mean force in a result, newest first. The sheet
 * gives only how long settling takes; this shape (three one-period means in a row)
 * is ours, and adds to 1.
 */
const TAPS = [1 / 8, 3 / 8, 3 / 8, 1 / 8] as const;

/**
 * The converter in its own time: an oscillator that nobody disciplines, a filter that
 * needs four conversions, and ends of range at which it stays.
 */
export class Converter {
  readonly period_s: number;
  power_up = 1;
  readonly #cell: Cell;
  readonly #means = new Float64Array(SETTLING_CONVERSIONS);
  #due_s: number;
  #up_s = 0;
  #since_up = 0;
  #sum = 0;
  #span_s = 0;
  #powered = true;
  #stuck_until_s = -1;
  #broken_until_s = -1;

  constructor(rig: ConverterRig, cell: Cell) {
    this.#cell = cell;
    this.period_s = 1 / (rig.rate_nominal_Hz * (1 + rig.rate_error));
    this.#due_s = this.period_s;
  }

  /** No result becomes ready until then, as from a broken part: its data line stays high. */
  stickUntil(t_s: number): void {
    this.#stuck_until_s = t_s;
  }

  /** A bridge wire is off until then: results stand at the upper end. */
  breakWireUntil(t_s: number): void {
    this.#broken_until_s = t_s;
  }

  powerDown(): void {
    this.#powered = false;
  }

  /** Starts anew at `t_s`; the first result is ready one period later. */
  powerUp(t_s: number): void {
    this.#powered = true;
    this.power_up++;
    this.#since_up = 0;
    this.#up_s = t_s;
    this.#due_s = t_s + this.period_s;
    this.#sum = 0;
    this.#span_s = 0;
  }

  /** When the next result becomes ready; never while it is powered down. */
  get due_s(): number {
    return this.#powered ? this.#due_s : Infinity;
  }

  /** The next `span_s` of the period under way, by whoever knows the force's integral exactly; step() is for straight lines. */
  take(integral_Ns: number, span_s: number): void {
    this.#sum += integral_Ns;
    this.#span_s += span_s;
  }

  /** The period under way, all of it taken, ends with this force on the cell. */
  end(force_N: number, sink: (c: Conversion) => void): void {
    this.#finish(this.#due_s, force_N, sink);
    this.#due_s = this.#up_s + (this.#since_up + 1) * this.period_s;
  }

  /** One step begun at `t_s` with the force going straight from `f0_N` to `f1_N`. Reports each result that becomes ready in it. */
  step(t_s: number, dt: number, f0_N: number, f1_N: number, sink: (c: Conversion) => void): void {
    if (!this.#powered) return;
    let from_s = t_s;
    let from_N = f0_N;
    const end_s = t_s + dt;
    while (this.#due_s <= end_s) {
      const at_s = this.#due_s;
      const span_s = Math.max(0, at_s - from_s);
      const at_N = f0_N + ((f1_N - f0_N) * (at_s - t_s)) / dt;
      this.#sum += ((from_N + at_N) / 2) * span_s;
      this.#span_s += span_s;
      this.#finish(at_s, at_N, sink);
      from_s = at_s;
      from_N = at_N;
      // From the start each time: summed periods would gather rounding.
      this.#due_s = this.#up_s + (this.#since_up + 1) * this.period_s;
    }
    this.#sum += ((from_N + f1_N) / 2) * (end_s - from_s);
    this.#span_s += end_s - from_s;
  }

  #finish(t_s: number, force_N: number, sink: (c: Conversion) => void): void {
    const means = this.#means;
    means.copyWithin(1, 0, SETTLING_CONVERSIONS - 1);
    means[0] = this.#span_s > 0 ? this.#sum / this.#span_s : force_N;
    this.#sum = 0;
    this.#span_s = 0;
    // After power-up the filter holds nothing: what it has not seen yet counts as no force.
    if (this.#since_up === 0) means.fill(0, 1);
    this.#since_up++;
    let filtered_N = 0;
    for (let i = 0; i < SETTLING_CONVERSIONS; i++) filtered_N += (TAPS[i] as number) * (means[i] as number);
    // The cell is asked even for a result that is not shown: its noise stays the same whatever is broken.
    const count = this.#cell.convert(t_s, filtered_N, means[0]);
    if (t_s < this.#stuck_until_s) return;
    sink({
      t_s,
      count: t_s < this.#broken_until_s ? 0x7fffff : count,
      force_N,
      filtered_N,
      power_up: this.power_up,
      settling: this.#since_up <= SETTLING_CONVERSIONS,
    });
  }
}

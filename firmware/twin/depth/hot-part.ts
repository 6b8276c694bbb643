import type { RandomStream } from '../world/random.js';
import { converterWord } from '../world/thermocouple.js';
import type { ThermocoupleRig, ThermocoupleState } from '../world/thermocouple.js';

/** The part is not ready sooner after power-up (max31855 sheet). */
const POWER_UP_s = 0.2;

/**
 * The thermocouple converter as the program meets it: it converts over and over, selecting it ends
 * the conversion under way and gives the last result.
 */
export class HotPart {
  /** End of the conversion under way. */
  due_cycle: number;
  /** The last result, and what it is of. */
  word = 0;
  cycle = 0;
  hot_C = 0;
  junction_C = 0;
  readonly #rig: ThermocoupleRig;
  readonly #noise: RandomStream;
  readonly #conversion_cycles: number;

  constructor(rig: ThermocoupleRig, noise: RandomStream, cycles_per_s: number) {
    this.#rig = rig;
    this.#noise = noise;
    this.#conversion_cycles = Math.round(rig.conversion_s * cycles_per_s);
    this.due_cycle = Math.round(POWER_UP_s * cycles_per_s) + 1;
  }

  /** The conversion under way ends, standing in this. */
  convert(hot_C: number, junction_C: number, state: ThermocoupleState): void {
    const fault = state === 'open' || state === 'short_gnd' || state === 'short_vcc' ? state : undefined;
    const word = converterWord(hot_C, junction_C, this.#rig, this.#noise, fault);
    if (state !== 'stuck') {
      this.word = word;
      this.cycle = this.due_cycle;
      this.hot_C = hot_C;
      this.junction_C = junction_C;
    }
    this.due_cycle += this.#conversion_cycles;
  }

  /** Selected, read and let go by `until_cycle`. @returns the 32 bits */
  read(until_cycle: number, state: ThermocoupleState): number {
    this.due_cycle = until_cycle + this.#conversion_cycles;
    return state === 'absent' ? 0xffffffff : state === 'dead' ? 0 : this.word;
  }
}

import type { Chip } from '../chip/chip.js';
import type { RandomStream } from '../world/random.js';
import { converterWord } from '../world/thermocouple.js';
import type { ThermocoupleRig, ThermocoupleState } from '../world/thermocouple.js';

const SELECT = { port: 'B', bit: 2 } as const;
/** The part is not ready sooner after power-up (max31855 sheet). */
const POWER_UP_s = 0.2;
const PULLED_UP = 0xff;

/** What a select was answered with. */
export interface WordGiven {
  readonly cycle: number;
  /** The 32 bits as they will be on the line. */
  readonly word: number;
  /** End of the conversion that it is of. */
  readonly converted_cycle: number;
  readonly hot_C: number;
  readonly junction_C: number;
}

/**
 * The thermocouple converter on the SPI lines. It converts over and over while it is not
 * selected; selecting it ends the conversion under way and freezes the last result, which
 * is shifted out most significant bit first.
 */
export class HotPins {
  readonly #chip: Chip;
  readonly #rig: ThermocoupleRig;
  readonly #noise: RandomStream;
  readonly #given: (w: WordGiven) => void;
  readonly #conversion_cycles: number;
  #hot_C = 0;
  #junction_C = 0;
  #state: ThermocoupleState = 'sound';
  /** Before the first conversion the result is empty. */
  #result = { word: 0, cycle: 0, hot_C: 0, junction_C: 0 };
  #selected = false;
  /** Counts the conversions begun: one that was cut off finds another number. */
  #begun = 0;
  #line = 0;
  #shifted = 4;

  constructor(chip: Chip, rig: ThermocoupleRig, noise: RandomStream, cycles_per_s: number, given: (w: WordGiven) => void) {
    this.#chip = chip;
    this.#rig = rig;
    this.#noise = noise;
    this.#given = given;
    this.#conversion_cycles = Math.round(rig.conversion_s * cycles_per_s);
    // One cycle past a round time, so that the first conversion never falls on a change of the world.
    this.#convertAt(Math.round(POWER_UP_s * cycles_per_s) + 1);
    chip.onOutput(SELECT.port, SELECT.bit, (level, cycle) => this.#select(level === 0, cycle));
    chip.onSpi(() => (this.#selected && this.#shifted < 4 ? (this.#line >>> (24 - 8 * this.#shifted++)) & 0xff : PULLED_UP));
  }

  /** From now on the thermocouple stands in this. */
  stand(hot_C: number, junction_C: number, state: ThermocoupleState): void {
    this.#hot_C = hot_C;
    this.#junction_C = junction_C;
    this.#state = state;
  }

  #convertAt(cycle: number): void {
    const n = ++this.#begun;
    this.#chip.at(cycle, () => {
      if (n !== this.#begun) return;
      this.#convert(cycle);
      this.#convertAt(cycle + this.#conversion_cycles);
    });
  }

  #convert(cycle: number): void {
    const state = this.#state;
    const fault = state === 'open' || state === 'short_gnd' || state === 'short_vcc' ? state : undefined;
    const word = converterWord(this.#hot_C, this.#junction_C, this.#rig, this.#noise, fault);
    if (state !== 'stuck') this.#result = { word, cycle, hot_C: this.#hot_C, junction_C: this.#junction_C };
  }

  #select(selected: boolean, cycle: number): void {
    if (selected === this.#selected) return;
    this.#selected = selected;
    if (!selected) {
      this.#convertAt(cycle + this.#conversion_cycles);
      return;
    }
    this.#begun++;
    const { word, cycle: converted_cycle, hot_C, junction_C } = this.#result;
    this.#line = this.#state === 'absent' ? 0xffffffff : this.#state === 'dead' ? 0 : word;
    this.#shifted = 0;
    this.#given({ cycle, word: this.#line, converted_cycle, hot_C, junction_C });
  }
}

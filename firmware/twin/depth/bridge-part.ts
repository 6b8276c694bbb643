import type { Conversion, Converter } from '../world/bridge.js';

const BITS = 24;
/** Pulses that a read may have, and what the next conversion then is: share of the A x128 count. */
const GAIN_BY_PULSES: Readonly<Record<number, number>> = { 25: 1, 26: 0, 27: 0.5 };
/** Which of a read's pulses a noisy clock line spoils. */
const SPOILT_PULSE = 12;
/** Pulses that the program gives. */
const READ = 25;

export interface BridgeRead {
  readonly raw: number;
  /** The data line stood as it must, before and after. */
  readonly ended_well: boolean;
  /** Pulses that the part missed, or saw twice. */
  readonly spoilt: readonly ('lost' | 'extra')[];
}

/** The bridge converter's two lines as the program meets them, a read at a time: see wiring/bridge-pins.ts. */
export class BridgePart {
  readonly #converter: Converter;
  #plugged = true;
  #word = 0;
  #pulses = BITS + 1;
  #share = 1;
  /** What a good read gives. */
  readonly #well = { raw: 0, ended_well: true, spoilt: [] };
  #toSpoil = { pulse: 'lost' as 'lost' | 'extra', count: 0 };

  constructor(converter: Converter) {
    this.#converter = converter;
  }

  /** A result becomes ready. @returns whether the data line falls */
  ready(c: Conversion): boolean {
    if (!this.#plugged || c.power_up !== this.#converter.power_up) return false;
    if (this.#pulses > BITS) {
      const share = GAIN_BY_PULSES[this.#pulses] ?? 1;
      if (share !== this.#share) {
        // Another channel or gain: the filter starts anew, this result never was one.
        this.#share = share;
        this.#pulses = BITS + 1;
        this.#converter.powerUp(c.t_s);
        return false;
      }
    }
    this.#word = Math.trunc(c.count * this.#share) & 0xffffff;
    this.#pulses = 0;
    this.#well.raw = this.#word;
    return true;
  }

  /** The program clocks the result out. */
  read(): BridgeRead {
    if (!this.#plugged) return { raw: 0xffffff, ended_well: false, spoilt: [] };
    if (this.#pulses === 0 && this.#toSpoil.count === 0) {
      this.#pulses = READ;
      return this.#well;
    }
    let raw = 0;
    let spoilt: BridgeRead['spoilt'] = [];
    let data = 0;
    for (let i = 0; i < READ; i++) {
      this.#pulses++;
      if (this.#pulses === SPOILT_PULSE && this.#toSpoil.count > 0) {
        this.#toSpoil.count--;
        spoilt = [...spoilt, this.#toSpoil.pulse];
        this.#pulses += this.#toSpoil.pulse === 'extra' ? 1 : -1;
      }
      data = this.#pulses > BITS ? 1 : (this.#word >> (BITS - this.#pulses)) & 1;
      if (i < BITS) raw = (raw << 1) | data;
    }
    return { raw: raw & 0xffffff, ended_well: data === 1, spoilt };
  }

  /** Its clock was held high for longer than 60 us, until `t_s`. */
  powerCycled(t_s: number): void {
    if (!this.#plugged) return;
    this.plugIn();
    this.#converter.powerUp(t_s);
  }

  unplug(): void {
    this.#plugged = false;
  }

  plugIn(): void {
    this.#plugged = true;
    this.#share = 1;
    this.#pulses = BITS + 1;
  }

  /** In each of the next `count` reads the part misses a pulse, or sees one too many. */
  spoil(pulse: 'lost' | 'extra', count: number): void {
    this.#toSpoil = { pulse, count };
  }
}

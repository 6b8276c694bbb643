import type { Chip } from '../chip/chip.js';
import type { Conversion, Converter } from '../world/bridge.js';

const DATA = { port: 'D', bit: 2 } as const;
const CLOCK = { port: 'D', bit: 4 } as const;

/** Clock held high for longer powers the part down (hx711 sheet). */
const POWER_DOWN_s = 60e-6;
/** A result that nobody fetched is followed by the next: the data line goes high this long before. Ours; the sheet is silent. */
const UPDATE_s = 2e-6;
const BITS = 24;
/** Pulses that a read may have, and what the next conversion then is: share of the A x128 count. */
const GAIN_BY_PULSES: Readonly<Record<number, number>> = { 25: 1, 26: 0, 27: 0.5 };
/** Which of a read's pulses a noisy clock line spoils. */
const SPOILT_PULSE = 12;

export interface Spoilt {
  readonly pulse: 'lost' | 'extra';
  /** When the conversion that was spoilt had become ready. */
  readonly ready_cycle: number;
}

/**
 * The bridge converter's two pins on the chip. Data falls when a result is ready;
 * each rise of the clock shifts out the next bit, most significant first; the 25th
 * pulse lets data go high and asks for channel A at gain 128 again, a 26th for
 * channel B (nothing is wired to it, so it reads 0), a 27th for gain 64.
 *
 * A result that becomes ready in the middle of a read replaces the rest of it, as
 * happens to a reader that is too slow.
 */
export class BridgePins {
  readonly #chip: Chip;
  readonly #converter: Converter;
  readonly #cycleOf: (t_s: number) => number;
  readonly #timeOf: (cycle: number) => number;
  readonly #spoiltHeard: (s: Spoilt) => void;
  readonly #powerDown_cycles: number;
  #plugged = true;
  #word = 0;
  #ready_cycle = 0;
  /** Pulses since the last result became ready; `BITS + 1` and more: the read is over. */
  #pulses = BITS + 1;
  #share = 1;
  #clockHighSince_cycle = -1;
  #toSpoil = { pulse: 'lost' as 'lost' | 'extra', count: 0 };

  constructor(chip: Chip, converter: Converter, cycleOf: (t_s: number) => number, timeOf: (cycle: number) => number, spoilt: (s: Spoilt) => void) {
    this.#chip = chip;
    this.#converter = converter;
    this.#cycleOf = cycleOf;
    this.#timeOf = timeOf;
    this.#spoiltHeard = spoilt;
    this.#powerDown_cycles = POWER_DOWN_s * chip.clock_Hz;
    this.#data(1);
    chip.onOutput(CLOCK.port, CLOCK.bit, (level, cycle) => this.#clock(level === 1, cycle));
  }

  /** Files a conversion for the cycle at which it becomes ready; `shown` hears of it if it does. */
  expect(c: Conversion, shown: (cycle: number) => void): void {
    const cycle = this.#cycleOf(c.t_s);
    this.#chip.at(cycle - Math.round(UPDATE_s * this.#chip.clock_Hz), () => {
      if (this.#listens(c) && this.#pulses === 0) this.#data(1);
    });
    this.#chip.at(cycle, () => this.#becomesReady(c, cycle, shown));
  }

  unplug(): void {
    this.#plugged = false;
    this.#chip.setInput(DATA.port, DATA.bit, 'open');
  }

  plugIn(): void {
    this.#plugged = true;
    this.#share = 1;
    this.#pulses = BITS + 1;
    this.#data(1);
  }

  /** In each of the next `count` reads the part misses a pulse, or sees one too many. */
  spoil(pulse: 'lost' | 'extra', count: number): void {
    this.#toSpoil = { pulse, count };
  }

  #listens(c: Conversion): boolean {
    const heldHigh = this.#clockHighSince_cycle >= 0 && this.#chip.cycles - this.#clockHighSince_cycle > this.#powerDown_cycles;
    return this.#plugged && !heldHigh && c.power_up === this.#converter.power_up;
  }

  #becomesReady(c: Conversion, cycle: number, shown: (cycle: number) => void): void {
    if (!this.#listens(c)) return;
    if (this.#pulses > BITS) {
      const share = GAIN_BY_PULSES[this.#pulses] ?? 1;
      if (share !== this.#share) {
        // Another channel or gain: the filter starts anew, this result never was one.
        this.#share = share;
        this.#pulses = BITS + 1;
        this.#converter.powerUp(c.t_s);
        return;
      }
    }
    this.#word = Math.trunc(c.count * this.#share) & 0xffffff;
    this.#pulses = 0;
    this.#ready_cycle = cycle;
    this.#data(0);
    shown(cycle);
  }

  #clock(high: boolean, cycle: number): void {
    if (high) {
      this.#clockHighSince_cycle = cycle;
      this.#pulse();
      return;
    }
    if (this.#clockHighSince_cycle < 0) return;
    const held_cycles = cycle - this.#clockHighSince_cycle;
    this.#clockHighSince_cycle = -1;
    if (held_cycles <= this.#powerDown_cycles || !this.#plugged) return;
    this.#share = 1;
    this.#pulses = BITS + 1;
    this.#converter.powerUp(this.#timeOf(cycle));
    this.#data(1);
  }

  #pulse(): void {
    if (!this.#plugged) return;
    this.#pulses++;
    if (this.#pulses === SPOILT_PULSE && this.#toSpoil.count > 0) {
      this.#toSpoil.count--;
      this.#pulses += this.#toSpoil.pulse === 'extra' ? 1 : -1;
      this.#spoiltHeard({ pulse: this.#toSpoil.pulse, ready_cycle: this.#ready_cycle });
    }
    this.#data(this.#pulses > BITS ? 1 : ((this.#word >> (BITS - this.#pulses)) & 1) as 0 | 1);
  }

  #data(level: 0 | 1): void {
    this.#chip.setInput(DATA.port, DATA.bit, level);
  }
}

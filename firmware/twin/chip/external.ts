import type { Core, Unit } from './core.js';
import type { Gpio } from './gpio.js';
import { VECTOR } from './interrupts.js';

/** Datasheet section "External Interrupts - Register Description". */
const PCIFR = 0x3b;
const EIFR = 0x3c;
const EIMSK = 0x3d;
const PCICR = 0x68;
const EICRA = 0x69;
const PCMSK = [0x6b, 0x6c, 0x6d] as const;

/** Pins of port D that are INT0 and INT1. */
const INT_PIN = [2, 3] as const;
const SENSE = { LOW_LEVEL: 0, ANY_EDGE: 1, FALLING: 2, RISING: 3 } as const;

/**
 * INT0, INT1 and the pin change interrupts. An edge latches its flag whether or not
 * its interrupt is enabled: one that came while masked is served when it is unmasked.
 * A low level is never latched, it requests as long as it lasts.
 */
export class ExternalInterrupts implements Unit {
  readonly #core: Core;
  readonly #gpio: Gpio;

  constructor(core: Core, gpio: Gpio) {
    this.#core = core;
    this.#gpio = gpio;
    gpio.ports.D.onPins((changed, levels) => {
      this.#pinsOfD(changed, levels);
      this.#pinChange(2, changed);
    });
    gpio.ports.B.onPins((changed) => this.#pinChange(0, changed));
    gpio.ports.C.onPins((changed) => this.#pinChange(1, changed));

    for (const flags of [EIFR, PCIFR])
      core.onWrite(flags, (value, mask) => {
        core.clearBits(flags, value & mask);
        this.#request();
      });
    for (const plain of [EIMSK, EICRA, PCICR])
      core.onWrite(plain, (value) => {
        core.set(plain, value);
        this.#request();
      });
    for (let n = 0; n < INT_PIN.length; n++)
      core.irq.onTaken(VECTOR.INT0 + n, () => {
        core.clearBits(EIFR, 1 << n);
        this.#request();
      });
    for (let n = 0; n < PCMSK.length; n++)
      core.irq.onTaken(VECTOR.PCINT0 + n, () => {
        core.clearBits(PCIFR, 1 << n);
        this.#request();
      });
  }

  reset(): void {
    // The pins have settled to their reset levels; that was no edge to anybody.
    this.#core.set(EIFR, 0);
    this.#core.set(PCIFR, 0);
    this.#request();
  }

  #sense(n: number): number {
    return (this.#core.get(EICRA) >> (2 * n)) & 3;
  }

  #pinsOfD(changed: number, levels: number): void {
    for (let n = 0; n < INT_PIN.length; n++) {
      const bit = 1 << (INT_PIN[n] ?? 0);
      if ((changed & bit) === 0) continue;
      const rose = (levels & bit) !== 0;
      const sense = this.#sense(n);
      if (sense === SENSE.ANY_EDGE || sense === (rose ? SENSE.RISING : SENSE.FALLING)) this.#core.setBits(EIFR, 1 << n);
    }
    this.#request();
  }

  #pinChange(group: number, changed: number): void {
    if ((changed & this.#core.get(PCMSK[group] ?? 0)) === 0) return;
    this.#core.setBits(PCIFR, 1 << group);
    this.#request();
  }

  #request(): void {
    const { irq } = this.#core;
    for (let n = 0; n < INT_PIN.length; n++) {
      const lowLevel = this.#sense(n) === SENSE.LOW_LEVEL;
      const asks = lowLevel ? !this.#gpio.ports.D.reads(INT_PIN[n] ?? 0) : this.#core.has(EIFR, 1 << n);
      irq.request(VECTOR.INT0 + n, asks && this.#core.has(EIMSK, 1 << n));
    }
    const both = this.#core.get(PCIFR) & this.#core.get(PCICR);
    for (let n = 0; n < PCMSK.length; n++) irq.request(VECTOR.PCINT0 + n, (both & (1 << n)) !== 0);
  }
}

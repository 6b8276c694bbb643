import type { Core } from './core.js';
import type { Gpio } from './gpio.js';

/** ICP1 is PB0. */
const ICP1 = 0;
/** Equal samples that the noise canceller asks for, one a CPU cycle. Datasheet section "Input Capture Unit". */
const CANCELLER_cycles = 4;

/**
 * The input side of Timer1's capture: edge detector and noise canceller. With the
 * canceller a level counts after it has lasted four cycles, and the capture is dated
 * then. The pin synchroniser, one to two cycles that are the same for every edge, is
 * not modelled.
 */
export class InputCapture {
  readonly #core: Core;
  readonly #gpio: Gpio;
  readonly #captured: () => void;
  readonly #settledSlot: number;
  #seen = false;
  #pin = false;
  #rising = false;
  #canceller = false;

  constructor(core: Core, gpio: Gpio, captured: () => void) {
    this.#core = core;
    this.#gpio = gpio;
    this.#captured = captured;
    this.#settledSlot = core.events.slot(() => this.#see(this.#pin));
    gpio.ports.B.onPins((changed, levels) => {
      if ((changed & (1 << ICP1)) !== 0) this.#pinChanged((levels & (1 << ICP1)) !== 0);
    });
  }

  /** The pin has settled to its reset level; that was no edge. */
  reset(): void {
    this.#rising = this.#canceller = false;
    this.#pin = this.#seen = this.#gpio.ports.B.reads(ICP1);
    this.#core.events.cancel(this.#settledSlot);
  }

  set(rising: boolean, canceller: boolean): void {
    this.#rising = rising;
    if (canceller === this.#canceller) return;
    this.#canceller = canceller;
    this.#core.events.cancel(this.#settledSlot);
    this.#seen = this.#pin;
  }

  #pinChanged(level: boolean): void {
    this.#pin = level;
    if (!this.#canceller) this.#see(level);
    else if (level === this.#seen) this.#core.events.cancel(this.#settledSlot);
    else this.#core.events.set(this.#settledSlot, this.#core.now_cycle + CANCELLER_cycles);
  }

  #see(level: boolean): void {
    this.#seen = level;
    if (level === this.#rising) this.#captured();
  }
}

import type { Core, ResetCause, Unit } from './core.js';
import { VECTOR } from './interrupts.js';

/** Datasheet section "Watchdog Timer - Register Description" and, for MCUSR, "System Control and Reset". */
const MCUSR = 0x54;
const WDTCSR = 0x60;
const WDRF = 1 << 3;
const WDE = 1 << 3;
const WDCE = 1 << 4;
const WDP3 = 1 << 5;
const WDIE = 1 << 6;
const WDIF = 1 << 7;
const PRESCALE = WDP3 | 0x07;

const OSCILLATOR_Hz = 128_000;
/** Oscillator periods of the shortest time-out; each prescaler step doubles it. */
const SHORTEST_periods = 2048;
const LONGEST_SETTING = 9;
/** How long the timed sequence leaves WDE and the prescaler open. */
const CHANGE_WINDOW_cycles = 4;

/**
 * The watchdog at its nominal 128 kHz. WDR only moves a number: the event finds out
 * by itself that it came too early, so that firmware may feed the watchdog as often
 * as it likes at no cost.
 */
export class Watchdog implements Unit {
  readonly #core: Core;
  readonly #bite: () => void;
  readonly #slot: number;
  #fed_cycle = 0;
  #windowEnd_cycle = -1;

  constructor(core: Core, bite: () => void) {
    this.#core = core;
    this.#bite = bite;
    this.#slot = core.events.slot(() => this.#due());
    core.cpu.onWatchdogReset = () => (this.#fed_cycle = core.now_cycle);
    core.onWrite(WDTCSR, (value) => this.#write(value));
    core.onRead(WDTCSR, () => core.get(WDTCSR) | (this.#windowOpen() ? WDCE : 0));
    core.onWrite(MCUSR, (value) => core.set(MCUSR, core.get(MCUSR) & value));
    core.irq.onTaken(VECTOR.WDT, () => {
      // With WDE set the handler has had its warning: the next time-out resets.
      core.clearBits(WDTCSR, WDIF | (core.has(WDTCSR, WDE) ? WDIE : 0));
      this.#request();
    });
  }

  reset(cause: ResetCause): void {
    this.#windowEnd_cycle = -1;
    // WDRF holds WDE set: after a bite the watchdog runs on, at its shortest time.
    this.#core.set(WDTCSR, cause !== 'power_on' && this.#core.has(MCUSR, WDRF) ? WDE : 0);
    this.#restart();
    this.#request();
  }

  #write(value: number): void {
    const core = this.#core;
    let kept = core.get(WDTCSR);
    if ((value & WDIF) !== 0) kept &= ~WDIF;
    kept = (kept & ~WDIE) | (value & WDIE);
    if (this.#windowOpen() && (value & WDCE) === 0) {
      kept = (kept & ~(WDE | PRESCALE)) | (value & (WDE | PRESCALE));
      this.#windowEnd_cycle = -1;
    } else kept |= value & WDE;
    if (core.has(MCUSR, WDRF)) kept |= WDE;
    const old = core.get(WDTCSR);
    core.set(WDTCSR, kept);
    if ((value & (WDCE | WDE)) === (WDCE | WDE)) this.#windowEnd_cycle = core.now_cycle + CHANGE_WINDOW_cycles;
    const was = (old & (WDE | WDIE)) !== 0;
    if (!was || ((old ^ kept) & PRESCALE) !== 0) this.#restart();
    else if ((kept & (WDE | WDIE)) === 0) core.events.cancel(this.#slot);
    this.#request();
  }

  #windowOpen(): boolean {
    return this.#core.now_cycle <= this.#windowEnd_cycle;
  }

  #timeout_cycles(): number {
    const value = this.#core.get(WDTCSR);
    const setting = Math.min((value & 0x07) | ((value & WDP3) !== 0 ? 8 : 0), LONGEST_SETTING);
    return Math.round((SHORTEST_periods * 2 ** setting * this.#core.clock_Hz) / OSCILLATOR_Hz);
  }

  #restart(): void {
    this.#fed_cycle = this.#core.now_cycle;
    if (this.#core.has(WDTCSR, WDE | WDIE)) this.#core.events.set(this.#slot, this.#fed_cycle + this.#timeout_cycles());
    else this.#core.events.cancel(this.#slot);
  }

  #due(): void {
    const core = this.#core;
    const due_cycle = this.#fed_cycle + this.#timeout_cycles();
    if (core.now_cycle < due_cycle) {
      core.events.set(this.#slot, due_cycle);
      return;
    }
    if (!core.has(WDTCSR, WDIE)) {
      this.#bite();
      return;
    }
    core.setBits(WDTCSR, WDIF);
    this.#restart();
    this.#request();
  }

  #request(): void {
    this.#core.irq.request(VECTOR.WDT, this.#core.has(WDTCSR, WDIF) && this.#core.has(WDTCSR, WDIE));
  }
}

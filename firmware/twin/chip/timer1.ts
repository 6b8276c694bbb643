import type { Core, Unit } from './core.js';
import type { Gpio } from './gpio.js';
import { InputCapture } from './capture.js';
import { VECTOR } from './interrupts.js';
import type { Watch } from './watch.js';

/** Datasheet section "16-bit Timer/Counter1 with PWM - Register Description". */
const TIFR1 = 0x36;
const TIMSK1 = 0x6f;
const TCCR1A = 0x80;
const TCCR1B = 0x81;
const TCCR1C = 0x82;
const TCNT1L = 0x84;
const ICR1L = 0x86;
const OCR1AL = 0x88;
const OCR1BL = 0x8a;
/** Datasheet section "Timer/Counter0 and Timer/Counter1 Prescalers". */
const GTCCR = 0x43;
const PSRSYNC = 1 << 0;
const TSM = 1 << 7;

/** Bits of TIFR1 and TIMSK1. */
const TOV1 = 1 << 0;
const OCF1A = 1 << 1;
const OCF1B = 1 << 2;
const ICF1 = 1 << 5;
/** Bits of TCCR1B. */
const CS1 = 0x07;
const WGM1_HIGH = 0x18;
const ICES1 = 1 << 6;
const ICNC1 = 1 << 7;

/** Cycles a count for each clock select; 6 and 7 count a pin. */
const DIVISOR = [0, 1, 8, 64, 256, 1024] as const;
const FLAGS = [
  { flag: TOV1, vector: VECTOR.TIMER1_OVF },
  { flag: OCF1A, vector: VECTOR.TIMER1_COMPA },
  { flag: OCF1B, vector: VECTOR.TIMER1_COMPB },
  { flag: ICF1, vector: VECTOR.TIMER1_CAPT },
] as const;

/**
 * Timer1 in normal mode: counting, overflow, both compare flags (no compare pins) and
 * input capture on ICP1. The counter is never ticked: it is a line over the cycles,
 * and the wrap and the matches are events. The prescaler runs from reset on and is
 * only moved by GTCCR, so a count is up to one divisor short after the clock is chosen.
 */
export class Timer1 implements Unit {
  readonly #core: Core;
  readonly #capture: InputCapture;
  readonly #wrapSlot: number;
  readonly #matchA: number;
  readonly #matchB: number;
  /** Cycles a count, 0 while stopped. */
  #divisor = 0;
  #prescalerStart_cycle = 0;
  /** The counter was #count0 at prescaler tick #tick0. */
  #count0 = 0;
  #tick0 = 0;
  /** The one byte that makes 16-bit accesses whole, shared by TCNT1 and ICR1 and all 16-bit writes. */
  #temp = 0;

  constructor(core: Core, gpio: Gpio, watch: Watch) {
    this.#core = core;
    this.#wrapSlot = core.events.slot(() => this.#passed(TOV1));
    this.#matchA = core.events.slot(() => this.#passed(OCF1A));
    this.#matchB = core.events.slot(() => this.#passed(OCF1B));
    this.#capture = new InputCapture(core, gpio, () => {
      if (core.has(TIFR1, ICF1)) watch.captureFoundSetTwice++;
      this.#set16(ICR1L, this.count());
      this.#flag(ICF1);
    });

    core.onWrite(TCCR1A, (value) => {
      if (value !== 0) core.unsupported('Timer1 with compare pins or a waveform mode (TCCR1A)');
    });
    core.onWrite(TCCR1C, () => undefined);
    core.onWrite(TCCR1B, (value) => this.#control(value));
    core.onWrite(TIFR1, (value, mask) => {
      core.clearBits(TIFR1, value & mask);
      this.#request();
    });
    core.onWrite(TIMSK1, (value) => {
      core.set(TIMSK1, value);
      this.#request();
    });
    core.onWrite(GTCCR, (value) => {
      if ((value & TSM) !== 0) core.unsupported('holding the prescalers (GTCCR.TSM)');
      if ((value & PSRSYNC) !== 0) this.#anchor(this.count(), () => (this.#prescalerStart_cycle = core.now_cycle));
    });
    for (const { flag, vector } of FLAGS)
      core.irq.onTaken(vector, () => {
        core.clearBits(TIFR1, flag);
        this.#request();
      });
    this.#wordAccess();
  }

  /** What TCNT1 holds at this cycle. */
  count(): number {
    return (this.#count0 + this.#ticks() - this.#tick0) & 0xffff;
  }

  reset(): void {
    this.#divisor = 0;
    this.#prescalerStart_cycle = this.#core.now_cycle;
    this.#count0 = this.#tick0 = this.#temp = 0;
    this.#core.set(TIFR1, 0);
    this.#schedule();
    this.#request();
    this.#capture.reset();
  }

  #wordAccess(): void {
    const core = this.#core;
    core.onRead(TCNT1L, () => {
      const count = this.count();
      this.#temp = count >> 8;
      return count & 0xff;
    });
    core.onRead(ICR1L, () => {
      this.#temp = core.get(ICR1L + 1);
      return core.get(ICR1L);
    });
    for (const low of [TCNT1L, ICR1L]) core.onRead(low + 1, () => this.#temp);
    for (const low of [TCNT1L, OCR1AL, OCR1BL]) core.onWrite(low + 1, (value) => (this.#temp = value));
    core.onWrite(TCNT1L, (value) => this.#anchor((this.#temp << 8) | value));
    for (const low of [OCR1AL, OCR1BL])
      core.onWrite(low, (value) => {
        this.#set16(low, (this.#temp << 8) | value);
        this.#schedule();
      });
    // ICR1 can only be written in the modes that use it as the top.
    for (const address of [ICR1L, ICR1L + 1]) core.onWrite(address, () => undefined);
  }

  #control(value: number): void {
    const core = this.#core;
    if ((value & WGM1_HIGH) !== 0) core.unsupported('Timer1 in another mode than normal (TCCR1B.WGM13:12)');
    const divisor = DIVISOR[value & CS1];
    if (divisor === undefined) return core.unsupported('Timer1 clocked by its pin T1 (TCCR1B.CS1)');
    if (divisor !== 0) core.needClock('TIMER1');
    core.set(TCCR1B, value);
    this.#anchor(this.count(), () => (this.#divisor = divisor));
    this.#capture.set((value & ICES1) !== 0, (value & ICNC1) !== 0);
  }

  #ticks(): number {
    if (this.#divisor === 0) return this.#tick0;
    return Math.floor((this.#core.now_cycle - this.#prescalerStart_cycle) / this.#divisor);
  }

  /** The counter is `count` now, and goes on from there after `change`. */
  #anchor(count: number, change?: () => void): void {
    change?.();
    this.#count0 = count;
    this.#tick0 = this.#ticks();
    this.#schedule();
  }

  #schedule(): void {
    this.#scheduleAt(this.#wrapSlot, 0x10000 - this.count());
    // A match is flagged one count after the equality.
    this.#scheduleAt(this.#matchA, ((this.#get16(OCR1AL) - this.count()) & 0xffff) + 1);
    this.#scheduleAt(this.#matchB, ((this.#get16(OCR1BL) - this.count()) & 0xffff) + 1);
  }

  #scheduleAt(slot: number, counts: number): void {
    const { events } = this.#core;
    if (this.#divisor === 0) events.cancel(slot);
    else events.set(slot, this.#prescalerStart_cycle + (this.#ticks() + counts) * this.#divisor);
  }

  #passed(flag: number): void {
    const slot = flag === TOV1 ? this.#wrapSlot : flag === OCF1A ? this.#matchA : this.#matchB;
    this.#scheduleAt(slot, 0x10000);
    this.#flag(flag);
  }

  #flag(flag: number): void {
    this.#core.setBits(TIFR1, flag);
    this.#request();
  }

  #request(): void {
    const both = this.#core.get(TIFR1) & this.#core.get(TIMSK1);
    for (const { flag, vector } of FLAGS) this.#core.irq.request(vector, (both & flag) !== 0);
  }

  #get16(low: number): number {
    return this.#core.get(low) | (this.#core.get(low + 1) << 8);
  }

  #set16(low: number, value: number): void {
    this.#core.set(low, value & 0xff);
    this.#core.set(low + 1, value >> 8);
  }
}

import { CPU } from 'avr8js';
import { fail } from '../../../host/errors.js';
import { Events } from './events.js';
import { Interrupts } from './interrupts.js';

/** Power Reduction Register, datasheet section "Power Management and Sleep Modes". */
const PRR = 0x64;
export const PRR_BIT = { ADC: 1 << 0, USART0: 1 << 1, SPI: 1 << 2, TIMER1: 1 << 3 } as const;

/** Why the chip was reset; several may stand in MCUSR. */
export type ResetCause = 'power_on' | 'external' | 'brown_out' | 'watchdog';

/** A unit of the chip: its registers already read 0 when reset() is called. */
export interface Unit {
  reset(cause: ResetCause): void;
}

const FLASH_words = 0x4000;
const SRAM_bytes = 2048;
const REGISTER_SPACE_bytes = 0x100;

/** What every unit works on: the processor's memory, the events and the interrupt requests. */
export class Core {
  readonly cpu: CPU;
  readonly events = new Events();
  readonly irq = new Interrupts();
  readonly clock_Hz: number;

  constructor(flash: Uint16Array, clock_Hz: number) {
    const words = new Uint16Array(FLASH_words).fill(0xffff);
    words.set(flash);
    this.cpu = new CPU(words, SRAM_bytes);
    this.clock_Hz = clock_Hz;
    // Hooks looked up beyond an array's end, or in its holes, take the engine's slow path.
    for (let address = 0; address < SRAM_bytes + REGISTER_SPACE_bytes; address++) {
      this.cpu.readHooks[address] = undefined as never;
      this.cpu.writeHooks[address] = undefined as never;
    }
    // Cycles outgrow 31 bits after two minutes: have the engine hold a double from the start.
    this.cpu.cycles = 2 ** 40 + 0.5;
    this.cpu.cycles = 0;
  }

  /** The cycle that is now: of the event that is being handled, else of the instruction. */
  get now_cycle(): number {
    return this.events.handling_cycle >= 0 ? this.events.handling_cycle : this.cpu.cycles;
  }

  get(address: number): number {
    return this.cpu.data[address] ?? 0;
  }

  set(address: number, value: number): void {
    this.cpu.data[address] = value;
  }

  has(address: number, mask: number): boolean {
    return (this.get(address) & mask) !== 0;
  }

  setBits(address: number, mask: number): void {
    this.set(address, this.get(address) | mask);
  }

  clearBits(address: number, mask: number): void {
    this.set(address, this.get(address) & ~mask);
  }

  /** `hook` gives the value read; it may have side effects. */
  onRead(address: number, hook: () => number): void {
    this.cpu.readHooks[address] = hook;
  }

  /**
   * `hook` stores for itself what is to be stored. `mask` has the bits that the
   * instruction writes: one for SBI and CBI, all for the others.
   */
  onWrite(address: number, hook: (value: number, mask: number) => void): void {
    this.cpu.writeHooks[address] = (value, _old, _address, mask) => {
      hook(value, mask);
      return true;
    };
  }

  /** The firmware does something that is not modelled; better said than emulated wrongly. */
  unsupported(what: string): never {
    throw fail('CHIP_UNSUPPORTED', { what, address: '0x' + (this.cpu.pc * 2).toString(16) });
  }

  /** A unit that is being switched on while its clock is stopped would silently do nothing. */
  needClock(unit: keyof typeof PRR_BIT): void {
    if (this.has(PRR, PRR_BIT[unit])) this.unsupported(`${unit} used while PRR stops its clock`);
  }
}

import { Adc } from './adc.js';
import type { AnalogVoltage } from './adc.js';
import { Core } from './core.js';
import type { ResetCause, Unit } from './core.js';
import { Eeprom } from './eeprom.js';
import { ExternalInterrupts } from './external.js';
import { Gpio } from './gpio.js';
import type { OutputListener, PinLevel, PortName } from './gpio.js';
import { Processor } from './processor.js';
import { Spi } from './spi.js';
import type { SpiExchange } from './spi.js';
import { Timer1 } from './timer1.js';
import { refuseUnmodelled } from './unmodelled.js';
import { Usart0 } from './usart0.js';
import type { ByteListener } from './usart0.js';
import { Watch } from './watch.js';
import { Watchdog } from './watchdog.js';

export type { AnalogVoltage, ByteListener, OutputListener, PinLevel, PortName, ResetCause, SpiExchange };

export interface ChipOptions {
  /** Program memory as bytes (of a hex file) or words. */
  readonly flash: Uint8Array | Uint16Array;
  /** Up to 1024 bytes; the rest is erased (0xFF). */
  readonly eeprom?: Uint8Array;
  /** 16 MHz unless told. */
  readonly clock_Hz?: number;
  /** Supply, and so the ADC's AVcc and AREF; 5 V unless told. */
  readonly supply_V?: number;
  /** What SRAM holds at power-on follows from this. */
  readonly sramSeed?: number;
  /**
   * Bits of MCUSR that no real chip sets, found set after every reset: firmware passes
   * the register on, so a host can tell an emulated board by whatever wire it comes.
   */
  readonly causeMark?: number;
  /** Cycles from a reset to the first instruction; 0 unless told. A crystal board with the usual fuses has 16384 + 65 ms. */
  readonly startUp_cycles?: number;
}

/** Datasheet section "System Control and Reset - Register Description". */
const MCUSR = 0x54;
const CAUSE_BIT = { power_on: 1 << 0, external: 1 << 1, brown_out: 1 << 2, watchdog: 1 << 3 } as const;
const REGISTERS_end = 0x100;

/** Start bit to the middle of the stop bit, where a byte counts as received. */
const STOP_SAMPLE_bits = 9.5;
const START_SAMPLE_bits = 0.5;
const FRAME_bits = 10;

/** An ATmega328P that runs a program among pins, bytes and voltages. Time is `cycles`. */
export class Chip {
  readonly watch = new Watch();
  readonly clock_Hz: number;
  readonly #core: Core;
  readonly #processor: Processor;
  readonly #gpio: Gpio;
  readonly #usart: Usart0;
  readonly #eeprom: Eeprom;
  readonly #spi: Spi;
  readonly #adc: Adc;
  readonly #units: readonly Unit[];
  readonly #startUp_cycles: number;
  readonly #startSlot: number;
  readonly #resetListeners: ((cause: ResetCause, cycle: number) => void)[] = [];
  readonly #causeMark: number;
  #noise: number;
  #powered = true;
  #cause: ResetCause = 'power_on';
  #reached_cycle = 0;

  constructor(options: ChipOptions) {
    this.clock_Hz = options.clock_Hz ?? 16_000_000;
    this.#startUp_cycles = options.startUp_cycles ?? 0;
    this.#causeMark = options.causeMark ?? 0;
    this.#noise = (options.sramSeed ?? 1) | 1;
    const core = new Core(wordsOf(options.flash), this.clock_Hz);
    this.#core = core;
    this.#processor = new Processor(core, this.watch);
    this.#startSlot = core.events.slot(() => this.#leaveReset());
    this.#gpio = new Gpio(core);
    this.#usart = new Usart0(core, this.watch);
    this.#eeprom = new Eeprom(core, options.eeprom);
    this.#spi = new Spi(core, this.#gpio);
    this.#adc = new Adc(core, options.supply_V ?? 5);
    // The ports settle first: what listens to pins then forgets what it heard of it.
    this.#units = [
      this.#gpio,
      new ExternalInterrupts(core, this.#gpio),
      new Timer1(core, this.#gpio, this.watch),
      // Held in reset the watchdog does not run; it starts anew with the program.
      new Watchdog(core, () => {
        if (!this.#processor.stopped) this.reset('watchdog');
      }),
      this.#usart,
      this.#eeprom,
      this.#spi,
      this.#adc,
    ];
    refuseUnmodelled(core);
    this.reset('power_on');
  }

  /** CPU cycles since the world began; goes on through sleep, resets and power cuts. */
  get cycles(): number {
    return this.#core.now_cycle;
  }

  get sleeping(): boolean {
    return this.#processor.sleeping;
  }

  get powered(): boolean {
    return this.#powered;
  }

  /** Registers, I/O and SRAM as the program sees them in memory; reading has no side effect. */
  get memory(): Uint8Array {
    return this.#core.cpu.data;
  }

  get eeprom(): Uint8Array {
    return this.#eeprom.bytes;
  }

  /** Runs to `cycle`, rounded up: an instruction that began before it is finished, all events up to it have happened. */
  runUntil(at_cycle: number): void {
    const cycle = Math.ceil(at_cycle);
    this.#processor.runUntil(cycle);
    this.#reached_cycle = Math.max(this.#reached_cycle, cycle);
  }

  /** Has `action` done at `cycle`, rounded up, between two instructions. A cycle that is past means at once. */
  at(cycle: number, action: () => void): void {
    const handling_cycle = this.#core.events.handling_cycle;
    const earliest_cycle = handling_cycle >= 0 ? handling_cycle : this.#reached_cycle;
    this.#core.events.file(Math.max(Math.ceil(cycle), earliest_cycle), action);
  }

  setInput(port: PortName, bit: number, level: PinLevel): void {
    this.#gpio.ports[port].setInput(bit, level);
  }

  output(port: PortName, bit: number): PinLevel {
    return this.#gpio.ports[port].output(bit);
  }

  onOutput(port: PortName, bit: number, listener: OutputListener): void {
    this.#gpio.ports[port].onOutput(bit, listener);
  }

  /** Measures the longest high of an output into watch.longestHigh_cycles. */
  watchHigh(port: PortName, bit: number): void {
    this.onOutput(port, bit, (level, cycle) => this.watch.pin(level === 1, cycle));
  }

  /** A byte is complete at the receiver now; what still waited for room is lost. */
  receive(byte: number, { framingError = false }: { readonly framingError?: boolean } = {}): void {
    this.#usart.startBit();
    this.#usart.frameEnds(byte, framingError);
  }

  /**
   * Sends bytes to the receiver back to back at the baud rate the program has set,
   * the first start bit at `start_cycle`; gives the cycle at which the line is free.
   */
  receiveAll(bytes: Iterable<number>, start_cycle = this.cycles): number {
    const bit_cycles = this.#usart.bit_cycles;
    let cycle = start_cycle;
    for (const byte of bytes) {
      this.at(cycle + START_SAMPLE_bits * bit_cycles, () => this.#usart.startBit());
      this.at(cycle + STOP_SAMPLE_bits * bit_cycles, () => this.#usart.frameEnds(byte, false));
      cycle += FRAME_bits * bit_cycles;
    }
    return cycle;
  }

  /** Cycles a bit takes at the baud rate that the program has set. */
  get bit_cycles(): number {
    return this.#usart.bit_cycles;
  }

  onByte(listener: ByteListener): void {
    this.#usart.onByte(listener);
  }

  /** What the SPI slaves answer, asked when a byte starts; chip selects are outputs. */
  onSpi(exchange: SpiExchange): void {
    this.#spi.exchange = exchange;
  }

  /** Volts at the ADC's pins, asked when it samples. */
  onAnalog(analog_V: AnalogVoltage): void {
    this.#adc.analog_V = analog_V;
  }

  onReset(listener: (cause: ResetCause, cycle: number) => void): void {
    this.#resetListeners.push(listener);
  }

  /** I/O and working registers are cleared and the cause noted; SRAM (but for power_on) and EEPROM are kept. */
  reset(cause: ResetCause): void {
    if (!this.#powered) return;
    const core = this.#core;
    const causes = cause === 'power_on' ? 0 : core.get(MCUSR);
    if (cause === 'power_on') this.#fillSram();
    this.#cause = cause;
    this.#clear(cause, causes | CAUSE_BIT[cause] | this.#causeMark);
    if (this.#startUp_cycles > 0) {
      this.#processor.stop();
      core.events.set(this.#startSlot, core.now_cycle + this.#startUp_cycles);
    } else this.#processor.start();
    for (const listener of this.#resetListeners) listener(cause, core.now_cycle);
  }

  /** Pins go open, bytes under way are lost, a cell of EEPROM being written is left erased. */
  powerOff(): void {
    this.#eeprom.powerFails();
    this.#clear('power_on', 0);
    this.#core.events.cancel(this.#startSlot);
    this.#processor.stop();
    this.#powered = false;
  }

  powerOn(): void {
    this.#powered = true;
    this.reset('power_on');
  }

  /** Until now the registers were held: what the pins did in the meantime has left no flag. */
  #leaveReset(): void {
    this.#clear(this.#cause, this.#core.get(MCUSR));
    this.#processor.start();
  }

  #clear(cause: ResetCause, causes: number): void {
    const { cpu } = this.#core;
    cpu.data.fill(0, 0, REGISTERS_end);
    cpu.SP = cpu.data.length - 1;
    cpu.pc = 0;
    this.#core.set(MCUSR, causes);
    for (const unit of this.#units) unit.reset(cause);
    this.watch.chipWasReset();
  }

  /** SRAM powers up as chance has it; here as the seed has it (xorshift32). */
  #fillSram(): void {
    const { data } = this.#core.cpu;
    for (let address = REGISTERS_end; address < data.length; address++) {
      this.#noise ^= this.#noise << 13;
      this.#noise ^= this.#noise >>> 17;
      this.#noise ^= this.#noise << 5;
      data[address] = this.#noise & 0xff;
    }
  }
}

function wordsOf(flash: Uint8Array | Uint16Array): Uint16Array {
  if (flash instanceof Uint16Array) return flash;
  const words = new Uint16Array(Math.ceil(flash.length / 2));
  for (let at = 0; at < words.length; at++) words[at] = (flash[2 * at] ?? 0xff) | ((flash[2 * at + 1] ?? 0xff) << 8);
  return words;
}

import type { Core, Unit } from './core.js';

export type PortName = 'B' | 'C' | 'D';
/** 'open': nothing outside drives the pin (input), or the pin drives nothing (output). */
export type PinLevel = 0 | 1 | 'open';
export type OutputListener = (level: PinLevel, cycle: number) => void;
/** `changed` and `levels` are bits of PINx. */
export type PinListener = (changed: number, levels: number) => void;

/** Datasheet section "I/O-Ports - Register Description": PINx, then DDRx and PORTx. */
const PIN_ADDRESS = { B: 0x23, C: 0x26, D: 0x29 } as const;
/** Datasheet section "MCUCR - MCU Control Register". */
const MCUCR = 0x55;
const PUD = 1 << 4;
const IVSEL = 1 << 1;

/**
 * Ports B, C and D. PINx is kept up to date in memory, so reading it costs nothing.
 * Not modelled: the input synchroniser (a level is seen at once, the chip needs one
 * to two cycles) and the alternate functions that take a pin over (USART, SPI: bytes,
 * not bits). A pin that nothing drives and nothing pulls reads 0.
 */
export class Gpio implements Unit {
  readonly ports: Readonly<Record<PortName, Port>>;

  constructor(core: Core) {
    this.ports = { B: new Port(core, PIN_ADDRESS.B), C: new Port(core, PIN_ADDRESS.C), D: new Port(core, PIN_ADDRESS.D) };
    core.onWrite(MCUCR, (value) => {
      if ((value & IVSEL) !== 0) core.unsupported('interrupt vectors in the boot section (MCUCR.IVSEL)');
      core.set(MCUCR, value);
      for (const port of Object.values(this.ports)) port.refresh();
    });
  }

  reset(): void {
    for (const port of Object.values(this.ports)) port.refresh();
  }
}

export class Port {
  readonly #core: Core;
  readonly #pin: number;
  readonly #ddr: number;
  readonly #port: number;
  #driven = 0;
  #driveLevels = 0;
  #ddrShown = 0;
  #portShown = 0;
  #heardBits = 0;
  readonly #outputListeners: OutputListener[][] = Array.from({ length: 8 }, () => []);
  readonly #pinListeners: PinListener[] = [];

  constructor(core: Core, pin: number) {
    this.#core = core;
    this.#pin = pin;
    this.#ddr = pin + 1;
    this.#port = pin + 2;
    core.onWrite(this.#pin, (value, mask) => {
      core.set(this.#port, core.get(this.#port) ^ (value & mask));
      this.refresh();
    });
    core.onWrite(this.#ddr, (value) => {
      core.set(this.#ddr, value);
      this.refresh();
    });
    core.onWrite(this.#port, (value) => {
      core.set(this.#port, value);
      this.refresh();
    });
  }

  onPins(listener: PinListener): void {
    this.#pinListeners.push(listener);
  }

  onOutput(bit: number, listener: OutputListener): void {
    this.#outputListeners[bit]?.push(listener);
    this.#heardBits |= 1 << bit;
  }

  output(bit: number): PinLevel {
    if (((this.#ddrShown >> bit) & 1) === 0) return 'open';
    return (this.#portShown >> bit) & 1 ? 1 : 0;
  }

  /** Whether the pin reads high. */
  reads(bit: number): boolean {
    return this.#core.has(this.#pin, 1 << bit);
  }

  setInput(bit: number, level: PinLevel): void {
    const mask = 1 << bit;
    if (level === 'open') this.#driven &= ~mask;
    else this.#driven |= mask;
    if (level === 1) this.#driveLevels |= mask;
    else this.#driveLevels &= ~mask;
    this.#refreshPins();
  }

  refresh(): void {
    const core = this.#core;
    const ddr = core.get(this.#ddr);
    const port = core.get(this.#port);
    const changed = (ddr ^ this.#ddrShown) | (ddr & (port ^ this.#portShown));
    this.#ddrShown = ddr;
    this.#portShown = port;
    this.#refreshPins();
    const heard = changed & this.#heardBits;
    if (heard !== 0) this.#tell(heard);
  }

  #refreshPins(): void {
    const core = this.#core;
    const pulled = core.has(MCUCR, PUD) ? 0 : this.#portShown;
    const inputs = (this.#driven & this.#driveLevels) | (~this.#driven & pulled);
    const levels = ((this.#ddrShown & this.#portShown) | (~this.#ddrShown & inputs)) & 0xff;
    const changed = levels ^ core.get(this.#pin);
    core.set(this.#pin, levels);
    if (changed !== 0) for (const listener of this.#pinListeners) listener(changed, levels);
  }

  #tell(bits: number): void {
    const cycle = this.#core.now_cycle;
    for (let bit = 0; bit < 8; bit++) {
      if (((bits >> bit) & 1) === 0) continue;
      const level = this.output(bit);
      for (const listener of this.#outputListeners[bit] ?? []) listener(level, cycle);
    }
  }
}

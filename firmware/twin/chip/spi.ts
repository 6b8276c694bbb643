import type { Core, Unit } from './core.js';
import type { Gpio } from './gpio.js';
import { VECTOR } from './interrupts.js';

/** Datasheet section "SPI - Register Description". */
const SPCR = 0x4c;
const SPSR = 0x4d;
const SPDR = 0x4e;
const SPR = 0x03;
const MSTR = 1 << 4;
const DORD = 1 << 5;
const SPE = 1 << 6;
const SPIE = 1 << 7;
const SPI2X = 1 << 0;
const WCOL = 1 << 6;
const SPIF = 1 << 7;

/** SS is PB2. */
const SS_bit = 2;
const DIVISOR = [4, 16, 64, 128] as const;

/** One exchanged byte: what the master sends, most significant bit first on the wire; gives what the slave sends. */
export type SpiExchange = (sent: number, cycle: number) => number;

/** The SPI unit as master: whole bytes with the chip's duration. Without a device MISO reads high. */
export class Spi implements Unit {
  exchange: SpiExchange = () => 0xff;
  readonly #core: Core;
  readonly #gpio: Gpio;
  readonly #slot: number;
  #coming = 0;
  #received = 0;
  #busy = false;
  /** SPSR was read while it stood: the next access of SPDR clears the flags. */
  #statusRead = false;

  constructor(core: Core, gpio: Gpio) {
    this.#core = core;
    this.#gpio = gpio;
    this.#slot = core.events.slot(() => this.#done());
    core.onWrite(SPCR, (value) => {
      core.set(SPCR, value);
      if ((value & SPE) !== 0) this.#enabled();
      this.#request();
    });
    core.onWrite(SPSR, (value) => core.set(SPSR, (core.get(SPSR) & ~SPI2X) | (value & SPI2X)));
    core.onRead(SPSR, () => {
      this.#statusRead = core.has(SPSR, SPIF | WCOL);
      return core.get(SPSR);
    });
    core.onWrite(SPDR, (value) => {
      this.#dataAccessed();
      this.#start(value);
    });
    core.onRead(SPDR, () => {
      this.#dataAccessed();
      return this.#received;
    });
    core.irq.onTaken(VECTOR.SPI_STC, () => {
      core.clearBits(SPSR, SPIF);
      this.#request();
    });
  }

  reset(): void {
    this.#core.events.cancel(this.#slot);
    this.#busy = this.#statusRead = false;
    this.#received = 0;
    this.#request();
  }

  #enabled(): void {
    this.#core.needClock('SPI');
    if (!this.#core.has(SPCR, MSTR)) this.#core.unsupported('the SPI unit as slave (SPCR.MSTR = 0)');
    const ss = this.#gpio.ports.B;
    if (ss.output(SS_bit) === 'open' && !ss.reads(SS_bit)) this.#core.unsupported('SS (PB2) low as an input, which ends master mode');
  }

  #start(value: number): void {
    const core = this.#core;
    if (!core.has(SPCR, SPE)) return;
    if (this.#busy) {
      core.setBits(SPSR, WCOL);
      return;
    }
    this.#enabled();
    this.#busy = true;
    const lsbFirst = core.has(SPCR, DORD);
    const answer = this.exchange(lsbFirst ? reversed(value) : value, core.now_cycle) & 0xff;
    this.#coming = lsbFirst ? reversed(answer) : answer;
    const divisor = (DIVISOR[core.get(SPCR) & SPR] ?? 4) / (core.has(SPSR, SPI2X) ? 2 : 1);
    core.events.set(this.#slot, core.now_cycle + 8 * divisor);
  }

  #done(): void {
    this.#busy = false;
    this.#received = this.#coming;
    this.#core.setBits(SPSR, SPIF);
    this.#request();
  }

  #dataAccessed(): void {
    if (!this.#statusRead) return;
    this.#statusRead = false;
    this.#core.clearBits(SPSR, SPIF | WCOL);
    this.#request();
  }

  #request(): void {
    this.#core.irq.request(VECTOR.SPI_STC, this.#core.has(SPCR, SPIE) && this.#core.has(SPSR, SPIF));
  }
}

function reversed(byte: number): number {
  let out = 0;
  for (let bit = 0; bit < 8; bit++) out |= ((byte >> bit) & 1) << (7 - bit);
  return out;
}

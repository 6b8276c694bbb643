import type { Core, Unit } from './core.js';
import { VECTOR } from './interrupts.js';

/** Datasheet section "EEPROM Data Memory - Register Description". */
const EECR = 0x3f;
const EEDR = 0x40;
const EEARL = 0x41;
const EEARH = 0x42;
const EERE = 1 << 0;
const EEPE = 1 << 1;
const EEMPE = 1 << 2;
const EERIE = 1 << 3;
const MODE = 0x30;

export const EEPROM_bytes = 1024;
/** EEPM1:0 = 0 erase and write, 1 erase only, 2 write only. Table "EEPROM Mode Bits". */
const DURATION_us = [3400, 1800, 1800] as const;
const ENABLE_WINDOW_cycles = 4;
const READ_HALT_cycles = 4;
const WRITE_HALT_cycles = 2;

/**
 * The EEPROM. A write goes on through a reset, as it does on the chip; when the power
 * fails in the middle of one, the cell is left erased.
 */
export class Eeprom implements Unit {
  readonly bytes: Uint8Array;
  readonly #core: Core;
  readonly #slot: number;
  #windowEnd_cycle = -1;
  #writing: { readonly address: number; readonly value: number } | undefined;

  constructor(core: Core, content?: Uint8Array) {
    this.#core = core;
    this.bytes = new Uint8Array(EEPROM_bytes).fill(0xff);
    if (content !== undefined) this.bytes.set(content.subarray(0, EEPROM_bytes));
    this.#slot = core.events.slot(() => this.#written());
    core.onWrite(EEARH, (value) => core.set(EEARH, value & 0x03));
    core.onWrite(EECR, (value) => this.#control(value));
    core.onRead(EECR, () => core.get(EECR) | (this.#windowOpen() ? EEMPE : 0));
  }

  reset(): void {
    this.#windowEnd_cycle = -1;
    this.#core.set(EECR, this.#writing === undefined ? 0 : EEPE);
    this.#request();
  }

  powerFails(): void {
    if (this.#writing !== undefined) this.bytes[this.#writing.address] = 0xff;
    this.#writing = undefined;
    this.#core.events.cancel(this.#slot);
  }

  #windowOpen(): boolean {
    return this.#core.now_cycle <= this.#windowEnd_cycle;
  }

  #control(value: number): void {
    const core = this.#core;
    const busy = this.#writing !== undefined;
    const open = this.#windowOpen();
    // The mode cannot be changed while a write is under way.
    const mode = busy ? core.get(EECR) & MODE : value & MODE;
    core.set(EECR, (value & EERIE) | mode | (busy ? EEPE : 0));
    if ((value & EEMPE) !== 0 && !open) this.#windowEnd_cycle = core.now_cycle + ENABLE_WINDOW_cycles;
    if ((value & EEPE) !== 0 && open && !busy) this.#startWrite(mode >> 4);
    else if ((value & EERE) !== 0 && !busy) {
      core.set(EEDR, this.bytes[this.#address()] ?? 0xff);
      core.cpu.cycles += READ_HALT_cycles;
    }
    this.#request();
  }

  #address(): number {
    return (this.#core.get(EEARL) | (this.#core.get(EEARH) << 8)) % EEPROM_bytes;
  }

  #startWrite(mode: number): void {
    const core = this.#core;
    const duration_us = DURATION_us[mode];
    if (duration_us === undefined) return core.unsupported('the reserved EEPROM mode (EECR.EEPM1:0)');
    const address = this.#address();
    const old = this.bytes[address] ?? 0xff;
    const data = core.get(EEDR);
    const value = mode === 0 ? data : mode === 1 ? 0xff : old & data;
    this.#writing = { address, value };
    this.#windowEnd_cycle = -1;
    core.setBits(EECR, EEPE);
    core.events.set(this.#slot, core.now_cycle + Math.round((duration_us * core.clock_Hz) / 1e6));
    core.cpu.cycles += WRITE_HALT_cycles;
  }

  #written(): void {
    if (this.#writing !== undefined) this.bytes[this.#writing.address] = this.#writing.value;
    this.#writing = undefined;
    this.#core.clearBits(EECR, EEPE);
    this.#request();
  }

  #request(): void {
    this.#core.irq.request(VECTOR.EE_READY, this.#core.has(EECR, EERIE) && this.#writing === undefined);
  }
}

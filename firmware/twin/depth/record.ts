import { crcOfText } from '../../../protocol/crc.js';
import { eepromStates, NO_BOARD_ID, settings } from '../../../protocol/messages.js';

/** The board's record as the program keeps it in its EEPROM: firmware/src/record.c, identity.c. */
export interface BoardRecord {
  generation: number;
  boot_count: number;
  board_id: number;
  /** By key, the first has key 1. */
  settings: number[];
}

export const RECORD_BYTES = 20;
export const EEPROM_BYTES = 1024;
/** Where its two copies begin. */
export const COPIES = [0x10, 0x50] as const;
const VERSION = 1;
const settingsByKey = Object.values(settings).sort((a, b) => a.key - b.key);

export const settingOf = (key: number): (typeof settingsByKey)[number] | undefined => settingsByKey[key - 1];

export function packRecord(r: BoardRecord): Uint8Array {
  const bytes = new Uint8Array(RECORD_BYTES);
  const view = new DataView(bytes.buffer);
  bytes[0] = VERSION;
  view.setUint16(2, r.generation, true);
  view.setUint16(4, r.boot_count, true);
  view.setUint32(6, r.board_id, true);
  r.settings.forEach((value, i) => view.setUint16(10 + 2 * i, value, true));
  view.setUint16(RECORD_BYTES - 2, crcOf(bytes), true);
  return bytes;
}

/** null: no record of this version, or damaged. */
export function unpackRecord(bytes: Uint8Array): BoardRecord | null {
  const view = new DataView(bytes.buffer, bytes.byteOffset, RECORD_BYTES);
  if (bytes[0] !== VERSION || view.getUint16(RECORD_BYTES - 2, true) !== crcOf(bytes)) return null;
  return {
    generation: view.getUint16(2, true),
    boot_count: view.getUint16(4, true),
    board_id: view.getUint32(6, true),
    settings: settingsByKey.map((_, i) => view.getUint16(10 + 2 * i, true)),
  };
}

export interface Choice {
  /** To go on from. */
  readonly newest: BoardRecord;
  /** Copy to write next. */
  readonly next: 0 | 1;
  /** A value of status.eeprom_state. */
  readonly state: number;
}

export function chooseRecord(eeprom: Uint8Array): Choice {
  const [a, b] = COPIES.map((at) => eeprom.subarray(at, at + RECORD_BYTES)) as [Uint8Array, Uint8Array];
  const inA = unpackRecord(a);
  const inB = unpackRecord(b);
  const { both_good, one_good, blank, both_bad } = eepromStates;
  if (inA !== null && inB !== null) {
    // Signed difference: the generation may have wrapped.
    const aNewer = ((inA.generation - inB.generation) << 16) >> 16 > 0;
    return { newest: aNewer ? inA : inB, next: aNewer ? 1 : 0, state: both_good.value };
  }
  const one = inA ?? inB;
  if (one !== null) {
    const other = inA !== null ? b : a;
    return { newest: one, next: inA !== null ? 1 : 0, state: isBlank(other) ? both_good.value : one_good.value };
  }
  const newest = { generation: 0, boot_count: 0, board_id: NO_BOARD_ID, settings: settingsByKey.map((s) => s.preset) };
  return { newest, next: 0, state: isBlank(a) && isBlank(b) ? blank.value : both_bad.value };
}

/** What a board that was given that id, and never set, carries before it starts for the first time since. */
export function eepromWithId(board_id: number): Uint8Array {
  const eeprom = new Uint8Array(EEPROM_BYTES).fill(0xff);
  eeprom.set(packRecord({ ...chooseRecord(eeprom).newest, board_id }), COPIES[0]);
  return eeprom;
}

const isBlank = (bytes: Uint8Array): boolean => bytes.every((b) => b === 0xff);
const crcOf = (bytes: Uint8Array): number => crcOfText(String.fromCharCode(...bytes.subarray(0, RECORD_BYTES - 2)));

/** The record in the EEPROM, written a byte at a time in the program's turns, each copy in its turn. */
export class RecordKeeper {
  readonly record: BoardRecord;
  readonly state: number;
  readonly #eeprom: Uint8Array;
  #next: 0 | 1;
  #pending: Uint8Array = new Uint8Array(0);
  #written = 0;
  #ready_cycle = 0;
  #dirty = false;

  /** Counts the start. */
  constructor(eeprom: Uint8Array) {
    this.#eeprom = eeprom;
    const { newest, next, state } = chooseRecord(eeprom);
    this.record = newest;
    this.#next = next;
    this.state = state;
    this.record.boot_count = (this.record.boot_count + 1) & 0xffff;
    this.#begin();
  }

  get busy(): boolean {
    return this.#written < this.#pending.length || this.#dirty;
  }

  isSaved(cycle: number): boolean {
    return !this.busy && cycle >= this.#ready_cycle;
  }

  takeId(board_id: number): void {
    if (this.record.board_id !== NO_BOARD_ID || board_id === NO_BOARD_ID) return;
    this.record.board_id = board_id;
    this.#dirty = true;
  }

  set(key: number, value: number): void {
    if (this.record.settings[key - 1] === value) return;
    this.record.settings[key - 1] = value;
    this.#dirty = true;
  }

  /** One turn of the program's loop: a byte, if the last one is written. */
  turn(cycle: number, write_cycles: number): void {
    if (this.#written === this.#pending.length) {
      if (this.#dirty) this.#begin();
      return;
    }
    if (cycle < this.#ready_cycle) return;
    const at = COPIES[this.#next] + this.#written;
    const byte = this.#pending[this.#written] as number;
    if (this.#eeprom[at] !== byte) {
      this.#eeprom[at] = byte;
      this.#ready_cycle = cycle + write_cycles;
    }
    this.#written++;
    if (this.#written === this.#pending.length) this.#next = this.#next === 0 ? 1 : 0;
  }

  #begin(): void {
    this.record.generation = (this.record.generation + 1) & 0xffff;
    this.#pending = packRecord(this.record);
    this.#written = 0;
    this.#dirty = false;
  }
}

/**
 * What a thermocouple converter says is wrong. open, short_gnd, short_vcc: the couple,
 * by the converter's own flags. dead: all zeros, which would read as 0 C (no supply, no
 * data wire). absent: all ones (nothing pulls the line down). invalid: no word that the
 * part can send.
 */
export type HotFault = 'open' | 'short_gnd' | 'short_vcc' | 'dead' | 'absent' | 'invalid';

export interface HotReading {
  readonly fault: HotFault | null;
  /** The converter's own number, which takes the couple to be linear: not the true temperature. Steps of 0.25 K; null with a fault. */
  readonly converter_C: number | null;
  /** Of the converter itself. Steps of 0.0625 K; null with a fault. */
  readonly junction_C: number | null;
}

/** MAX31855 datasheet, memory map: reserved bits are always 0. */
const RESERVED = (1 << 17) | (1 << 3);
const ANY_FAULT = 1 << 16;
/** The range that the part is made for. */
const JUNCTION_C = { least: -40, most: 125 };

/** @param word the 32 bits of a MAX31855, as an unsigned number */
export function hotReading(word: number): HotReading {
  // Bits 31-18 and 15-4, two's complement.
  const converter_C = (word >> 18) / 4;
  const junction_C = ((word << 16) >> 20) / 16;
  const fault = hotFault(word, junction_C);
  return fault === null ? { fault, converter_C, junction_C } : { fault, converter_C: null, junction_C: null };
}

function hotFault(word: number, junction_C: number): HotFault | null {
  if (word === 0) return 'dead';
  if (word === 0xffffffff) return 'absent';
  const contradicts = ((word & ANY_FAULT) !== 0) !== ((word & 7) !== 0);
  if ((word & RESERVED) !== 0 || contradicts || junction_C < JUNCTION_C.least || junction_C > JUNCTION_C.most) return 'invalid';
  if ((word & 1) !== 0) return 'open';
  if ((word & 2) !== 0) return 'short_gnd';
  return (word & 4) !== 0 ? 'short_vcc' : null;
}

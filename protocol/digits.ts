/**
 * The characters of the line being read, each already turned into what it can be:
 * a digit's value, BLANK, OTHER or UNPRINTABLE. Reading a character out of a string costs more
 * than all else done with it, so it is done once, and the fields are put together
 * from here. One line at a time: this is a scratch pad, not a result.
 */
export const BLANK = 0x80;
const OTHER = 0x40;
export const UNPRINTABLE = 0x20;

/** By character code. Upper case only: see messages.ts. */
export const kindOf: Uint8Array = Uint8Array.from({ length: 256 }, (_, c) =>
  c >= 0x30 && c <= 0x39 ? c - 0x30 : c >= 0x41 && c <= 0x46 ? c - 0x37 : c === 0x20 ? BLANK : c > 0x20 && c < 0x7f ? OTHER : UNPRINTABLE,
);

const NO_DIGIT = BLANK | OTHER | UNPRINTABLE;

export const pad = new Uint8Array(256);

let seen = 0;

/** Whether all digits read since the last call were digits. One look a line, instead of one a digit. */
export function allWereDigits(): boolean {
  const good = (seen & NO_DIGIT) === 0;
  seen = 0;
  return good;
}

export function digits2(at: number): number {
  const a = pad[at] as number;
  const b = pad[at + 1] as number;
  seen |= a | b;
  return (a << 4) | b;
}

export function digits4(at: number): number {
  const a = pad[at] as number;
  const b = pad[at + 1] as number;
  const c = pad[at + 2] as number;
  const d = pad[at + 3] as number;
  seen |= a | b | c | d;
  return (a << 12) | (b << 8) | (c << 4) | d;
}

export const digits6 = (at: number): number => (digits2(at) << 16) | digits4(at + 2);
export const digits8 = (at: number): number => digits4(at) * 0x10000 + digits4(at + 4);
/** 24 bits, two's complement. */
export const signed6 = (at: number): number => (digits6(at) << 8) >> 8;

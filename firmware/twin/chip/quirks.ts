import type { CPU } from 'avr8js';

/**
 * Instructions that avr8js 0.21.1 leaves to others or gets wrong, found by their
 * opcode once, when the flash is loaded, so that the run loop pays one table look-up:
 * SLEEP and SPM do nothing there, CBI counts one cycle (the chip takes two), NEG of
 * 0x80 does not set V, FMULSU sets Z the wrong way round. Datasheet section
 * "Instruction Set Summary"; a test of each compares with the chip's manual.
 */
export const QUIRK = { NONE: 0, SLEEP: 1, SPM: 2, CBI: 3, NEG: 4, FMULSU: 5 } as const;

const SREG = 95;
const Z = 1 << 1;
const N = 1 << 2;
const V = 1 << 3;
const S = 1 << 4;

/** One code a flash word. */
export function quirksOf(flash: Uint16Array): Uint8Array {
  return Uint8Array.from(flash, (opcode) => {
    if (opcode === 0x9588) return QUIRK.SLEEP;
    if (opcode === 0x95e8) return QUIRK.SPM;
    if ((opcode & 0xff00) === 0x9800) return QUIRK.CBI;
    if ((opcode & 0xfe0f) === 0x9401) return QUIRK.NEG;
    if ((opcode & 0xff88) === 0x0388) return QUIRK.FMULSU;
    return QUIRK.NONE;
  });
}

/** Puts right what the instruction `opcode`, just executed, left wrong. */
export function mend(cpu: CPU, quirk: number, opcode: number): void {
  const { data } = cpu;
  if (quirk === QUIRK.CBI) cpu.cycles++;
  else if (quirk === QUIRK.NEG) {
    const overflow = data[(opcode >> 4) & 0x1f] === 0x80;
    const negative = (cpu.SREG & N) !== 0;
    data[SREG] = (cpu.SREG & ~(V | S)) | (overflow ? V : 0) | (overflow !== negative ? S : 0);
  } else if (quirk === QUIRK.FMULSU) {
    const zero = data[0] === 0 && data[1] === 0;
    data[SREG] = (cpu.SREG & ~Z) | (zero ? Z : 0);
  }
}

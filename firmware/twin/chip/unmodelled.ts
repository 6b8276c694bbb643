import type { Core } from './core.js';

/**
 * Registers of units that the twin does not have. Their reset value may be written,
 * and bits that only switch a unit off; a bit that would start one is refused, so
 * that firmware never seems to work because nothing happens.
 */
const REFUSED = [
  { address: 0x45, bits: 0x07, name: 'Timer0 (TCCR0B)' },
  { address: 0xb1, bits: 0x07, name: 'Timer2 (TCCR2B)' },
  { address: 0xbc, bits: 0x04, name: 'the two-wire unit (TWCR)' },
  { address: 0x50, bits: 0x08, name: 'the comparator interrupt (ACSR.ACIE)' },
  { address: 0x57, bits: 0x01, name: 'self-programming (SPMCSR)' },
  { address: 0x61, bits: 0x0f, name: 'a divided system clock (CLKPR)' },
] as const;

export function refuseUnmodelled(core: Core): void {
  for (const { address, bits, name } of REFUSED)
    core.onWrite(address, (value) => {
      if ((value & bits) !== 0) core.unsupported(name);
      core.set(address, value);
    });
}

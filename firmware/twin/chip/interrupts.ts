/**
 * Interrupt requests as one bit mask, bit = vector number, so that the run loop asks
 * with one comparison. A unit keeps its bit equal to "flag and enable"; what becomes
 * of the flag when the vector is taken is the unit's own affair (`onTaken`): edge
 * flags clear themselves, level requests such as UDRE stay.
 */

/** Vector numbers, datasheet section "Interrupt Vectors in ATmega328P". A low number has priority. */
export const VECTOR = {
  INT0: 1,
  INT1: 2,
  PCINT0: 3,
  PCINT1: 4,
  PCINT2: 5,
  WDT: 6,
  TIMER1_CAPT: 10,
  TIMER1_COMPA: 11,
  TIMER1_COMPB: 12,
  TIMER1_OVF: 13,
  SPI_STC: 17,
  USART_RX: 18,
  USART_UDRE: 19,
  USART_TX: 20,
  ADC: 21,
  EE_READY: 22,
} as const;

export class Interrupts {
  pending = 0;
  readonly #taken: ((() => void) | undefined)[] = new Array<undefined>(26).fill(undefined);

  request(vector: number, wanted: boolean): void {
    if (wanted) this.pending |= 1 << vector;
    else this.pending &= ~(1 << vector);
  }

  onTaken(vector: number, action: () => void): void {
    this.#taken[vector] = action;
  }

  /** Number of the pending vector that comes first. */
  first(): number {
    return 31 - Math.clz32(this.pending & -this.pending);
  }

  taken(vector: number): void {
    this.#taken[vector]?.();
  }
}

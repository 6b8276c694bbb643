import type { Core, Unit } from './core.js';
import { Receiver } from './receiver.js';
import { VECTOR } from './interrupts.js';
import type { Watch } from './watch.js';

/** Datasheet section "USART0 - Register Description". */
const UCSR0A = 0xc0;
const UCSR0B = 0xc1;
const UCSR0C = 0xc2;
const UBRR0L = 0xc4;
const UBRR0H = 0xc5;
const UDR0 = 0xc6;

const A = { MPCM0: 1 << 0, U2X0: 1 << 1, UDRE0: 1 << 5, TXC0: 1 << 6, RXC0: 1 << 7, DOR0: 1 << 3, FE0: 1 << 4 } as const;
const B = { UCSZ02: 1 << 2, TXEN0: 1 << 3, RXEN0: 1 << 4, UDRIE0: 1 << 5, TXCIE0: 1 << 6, RXCIE0: 1 << 7 } as const;
const USBS0 = 1 << 3;
/** UCSZ01:00 for eight data bits. */
const EIGHT_BITS = 0x06;

export type ByteListener = (byte: number, doneCycle: number) => void;

/**
 * USART0, asynchronous, eight data bits, no parity. Bytes, not bits: a byte takes its
 * ten (or eleven) bit times and is told to the world when its last stop bit ends. The
 * transmitter starts at once, the chip at its next baud tick. UDRE0 and RXC0 request
 * for as long as they stand, so a handler that leaves them standing is entered again.
 */
export class Usart0 implements Unit {
  readonly receiver: Receiver;
  readonly #core: Core;
  readonly #sentSlot: number;
  readonly #byteListeners: ByteListener[] = [];
  #shifting: number | undefined;
  #buffered: number | undefined;

  constructor(core: Core, watch: Watch) {
    this.#core = core;
    this.receiver = new Receiver(watch);
    this.#sentSlot = core.events.slot(() => this.#sent());

    core.onWrite(UCSR0A, (value, mask) => {
      if ((value & A.MPCM0) !== 0) core.unsupported('multi-processor mode (UCSR0A.MPCM0)');
      const cleared = value & mask & A.TXC0;
      core.set(UCSR0A, (core.get(UCSR0A) & ~(A.U2X0 | cleared)) | (value & A.U2X0));
      this.#request();
    });
    core.onWrite(UCSR0B, (value) => this.#control(value));
    core.onWrite(UCSR0C, (value) => {
      if ((value & ~USBS0) !== EIGHT_BITS) core.unsupported('a USART frame other than 8N1 or 8N2 (UCSR0C)');
      core.set(UCSR0C, value);
    });
    core.onWrite(UBRR0H, (value) => core.set(UBRR0H, value & 0x0f));
    core.onWrite(UDR0, (value) => this.#write(value));
    core.onRead(UDR0, () => {
      const byte = this.receiver.read();
      this.#request();
      return byte;
    });
    core.irq.onTaken(VECTOR.USART_RX, () => this.receiver.handlerEntered(core.now_cycle));
    core.irq.onTaken(VECTOR.USART_TX, () => {
      core.clearBits(UCSR0A, A.TXC0);
      this.#request();
    });
  }

  /** Cycles a bit. Datasheet section "Internal Clock Generation - The Baud Rate Generator". */
  get bit_cycles(): number {
    const divisor = this.#core.get(UBRR0L) | (this.#core.get(UBRR0H) << 8);
    return (divisor + 1) * (this.#core.has(UCSR0A, A.U2X0) ? 8 : 16);
  }

  onByte(listener: ByteListener): void {
    this.#byteListeners.push(listener);
  }

  /** A start bit is seen: what waits in the shift register with nowhere to go is lost. */
  startBit(): void {
    if (this.#core.has(UCSR0B, B.RXEN0)) this.receiver.startBit();
    this.#request();
  }

  /** A frame's stop bit is seen. */
  frameEnds(byte: number, framingError: boolean): void {
    if (this.#core.has(UCSR0B, B.RXEN0)) this.receiver.frameEnds(byte & 0xff, framingError, this.#core.now_cycle);
    this.#request();
  }

  reset(): void {
    this.#core.set(UCSR0A, A.UDRE0);
    this.#core.set(UCSR0C, EIGHT_BITS);
    this.#core.events.cancel(this.#sentSlot);
    this.#shifting = this.#buffered = undefined;
    this.receiver.flush();
    this.#request();
  }

  #control(value: number): void {
    if ((value & B.UCSZ02) !== 0) this.#core.unsupported('nine data bits (UCSR0B.UCSZ02)');
    if ((value & (B.TXEN0 | B.RXEN0)) !== 0) this.#core.needClock('USART0');
    // TXB8 and RXB8 are of no use with eight bits; what is under way goes on.
    this.#core.set(UCSR0B, value);
    if ((value & B.RXEN0) === 0) this.receiver.flush();
    this.#request();
  }

  #write(byte: number): void {
    if (!this.#core.has(UCSR0B, B.TXEN0) || this.#buffered !== undefined) return;
    if (this.#shifting === undefined) this.#shift(byte);
    else this.#buffered = byte;
    this.#request();
  }

  #shift(byte: number): void {
    const bits = this.#core.has(UCSR0C, USBS0) ? 11 : 10;
    this.#shifting = byte;
    this.#core.events.set(this.#sentSlot, this.#core.now_cycle + bits * this.bit_cycles);
  }

  #sent(): void {
    const byte = this.#shifting ?? 0;
    this.#shifting = undefined;
    if (this.#buffered !== undefined) {
      this.#shift(this.#buffered);
      this.#buffered = undefined;
    } else this.#core.setBits(UCSR0A, A.TXC0);
    this.#request();
    for (const listener of this.#byteListeners) listener(byte, this.#core.now_cycle);
  }

  #request(): void {
    const { irq } = this.#core;
    const flags =
      (this.#core.get(UCSR0A) & (A.TXC0 | A.U2X0)) |
      (this.#buffered === undefined ? A.UDRE0 : 0) |
      (this.receiver.holdsFrame ? A.RXC0 : 0) |
      (this.receiver.framingError ? A.FE0 : 0) |
      (this.receiver.overrun ? A.DOR0 : 0);
    this.#core.set(UCSR0A, flags);
    const enables = this.#core.get(UCSR0B);
    irq.request(VECTOR.USART_RX, (enables & B.RXCIE0) !== 0 && (flags & A.RXC0) !== 0);
    irq.request(VECTOR.USART_UDRE, (enables & B.UDRIE0) !== 0 && (flags & A.UDRE0) !== 0);
    irq.request(VECTOR.USART_TX, (enables & B.TXCIE0) !== 0 && (flags & A.TXC0) !== 0);
  }
}

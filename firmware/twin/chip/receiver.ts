import type { Watch } from './watch.js';

interface Frame {
  readonly byte: number;
  readonly framingError: boolean;
  readonly arrival_cycle: number;
}

/**
 * The USART's receive side: a buffer of two frames, and a third that waits in the
 * shift register until a new start bit overwrites it. Datasheet sections "Receive
 * Complete Flag and Interrupt" and "Receiver Error Flags".
 */
export class Receiver {
  overrun = false;
  readonly #watch: Watch;
  readonly #buffer: Frame[] = [];
  #waiting: Frame | undefined;
  #last = 0;

  constructor(watch: Watch) {
    this.#watch = watch;
  }

  get holdsFrame(): boolean {
    return this.#buffer.length > 0;
  }

  get framingError(): boolean {
    return this.#buffer[0]?.framingError ?? false;
  }

  startBit(): void {
    if (this.#waiting === undefined) return;
    this.#waiting = undefined;
    this.overrun = true;
    this.#watch.receiveOverruns++;
  }

  frameEnds(byte: number, framingError: boolean, arrival_cycle: number): void {
    const frame: Frame = { byte, framingError, arrival_cycle };
    if (this.#buffer.length < 2) this.#buffer.push(frame);
    else this.#waiting = frame;
  }

  read(): number {
    const frame = this.#buffer.shift();
    if (this.#waiting !== undefined) {
      this.#buffer.push(this.#waiting);
      this.#waiting = undefined;
    }
    this.overrun = false;
    if (frame !== undefined) this.#last = frame.byte;
    return this.#last;
  }

  handlerEntered(cycle: number): void {
    const oldest = this.#buffer[0];
    if (oldest !== undefined) this.#watch.received(oldest.arrival_cycle, cycle);
  }

  flush(): void {
    this.#buffer.length = 0;
    this.#waiting = undefined;
    this.overrun = false;
  }
}

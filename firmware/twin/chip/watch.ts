/**
 * What the firmware's budgets are checked against, measured while it runs. All are
 * worst cases since the last clear(), in CPU cycles where the name says so.
 */
export class Watch {
  instructions = 0;
  /** Longest stretch with SREG.I at 0, from the entry or CLI to the end of RETI or SEI; init before the first SEI does not count. */
  longestInterruptsOff_cycles = 0;
  /** Byte address at which that stretch ended. */
  longestInterruptsOffEnd_address = 0;
  /** Longest time from a byte's arrival to the entry of the receive handler that finds it. */
  longestRxWait_cycles = 0;
  /** Captures that overwrote one whose flag had not been cleared. */
  captureFoundSetTwice = 0;
  /** Bytes lost because the receiver was full. */
  receiveOverruns = 0;
  /** Longest high of the pin given to Chip.watchHigh(). */
  longestHigh_cycles = 0;

  #offSince_cycle = -1;
  #initialising = true;
  #highSince_cycle = -1;

  clear(): void {
    this.instructions = 0;
    this.longestInterruptsOff_cycles = 0;
    this.longestInterruptsOffEnd_address = 0;
    this.longestRxWait_cycles = 0;
    this.captureFoundSetTwice = 0;
    this.receiveOverruns = 0;
    this.longestHigh_cycles = 0;
    this.#offSince_cycle = -1;
    this.#highSince_cycle = -1;
  }

  chipWasReset(): void {
    this.#initialising = true;
    this.#offSince_cycle = -1;
  }

  interruptsOff(cycle: number): void {
    if (!this.#initialising) this.#offSince_cycle = cycle;
  }

  interruptsOn(cycle: number, address: number): void {
    this.#initialising = false;
    if (this.#offSince_cycle < 0) return;
    const off_cycles = cycle - this.#offSince_cycle;
    this.#offSince_cycle = -1;
    if (off_cycles <= this.longestInterruptsOff_cycles) return;
    this.longestInterruptsOff_cycles = off_cycles;
    this.longestInterruptsOffEnd_address = address;
  }

  received(arrival_cycle: number, entry_cycle: number): void {
    this.longestRxWait_cycles = Math.max(this.longestRxWait_cycles, entry_cycle - arrival_cycle);
  }

  pin(high: boolean, cycle: number): void {
    if (high) this.#highSince_cycle = cycle;
    else if (this.#highSince_cycle >= 0) {
      this.longestHigh_cycles = Math.max(this.longestHigh_cycles, cycle - this.#highSince_cycle);
      this.#highSince_cycle = -1;
    }
  }
}

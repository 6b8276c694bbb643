export interface LineSent {
  /** Cycle at which its LF had left. */
  readonly cycle: number;
  /** Counts the lines from 1. */
  readonly n: number;
  /** Every byte came out of the cable as it was sent. */
  readonly whole: boolean;
  /** Without LF, bytes as latin1. */
  readonly text: string;
}

const LF = 0x0a;

/** Puts the bytes that leave the board together into lines: the ground truth for "sent". */
export class LinesSent {
  bytes = 0;
  lines = 0;
  whole = 0;
  readonly #told: (line: LineSent) => void;
  #text = '';
  #unspoilt = true;

  constructor(told: (line: LineSent) => void) {
    this.#told = told;
  }

  byte(byte: number, cycle: number, unspoilt: boolean): void {
    this.bytes++;
    if (!unspoilt) this.#unspoilt = false;
    if (byte !== LF) {
      this.#text += String.fromCharCode(byte);
      return;
    }
    this.lines++;
    if (this.#unspoilt) this.whole++;
    this.#told({ cycle, n: this.lines, whole: this.#unspoilt, text: this.#text });
    this.#text = '';
    this.#unspoilt = true;
  }
}

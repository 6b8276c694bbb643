/** A queue with a bound: the newest stay, the oldest go, and whoever pushes is told which. */
export class Ring<T> {
  readonly limit: number;
  readonly #slots: (T | undefined)[] = [];
  #head = 0;
  #size = 0;

  constructor(limit: number) {
    this.limit = limit;
  }

  get size(): number {
    return this.#size;
  }

  /** @returns the oldest, when it had to make room */
  push(item: T): T | undefined {
    const evicted = this.#size === this.limit ? this.shift() : undefined;
    this.#slots[(this.#head + this.#size) % this.limit] = item;
    this.#size++;
    return evicted;
  }

  /** The i-th oldest. */
  at(i: number): T | undefined {
    return i < this.#size ? this.#slots[(this.#head + i) % this.limit] : undefined;
  }

  shift(): T | undefined {
    if (this.#size === 0) return undefined;
    const item = this.#slots[this.#head];
    // A slot left filled would keep its item alive for a whole turn of the ring.
    this.#slots[this.#head] = undefined;
    this.#head = (this.#head + 1) % this.limit;
    this.#size--;
    return item;
  }

  drop(n: number): void {
    for (let i = 0; i < n; i++) this.shift();
  }
}

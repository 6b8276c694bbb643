/** What the world has told and the program has not yet met, earliest first; equal times in the order in which they were told. */
export class Pending {
  #first = 0;
  readonly #cycles: number[] = [];
  readonly #whats: number[] = [];
  readonly #as: number[] = [];
  readonly #bs: number[] = [];
  readonly #objects: unknown[] = [];

  /** Infinity: nothing. */
  get cycle(): number {
    return this.#cycles[this.#first] ?? Infinity;
  }

  get what(): number {
    return this.#whats[this.#first] as number;
  }

  get a(): number {
    return this.#as[this.#first] as number;
  }

  get b(): number {
    return this.#bs[this.#first] as number;
  }

  get object(): unknown {
    return this.#objects[this.#first];
  }

  drop(): void {
    this.#first++;
    if (this.#first < this.#cycles.length) return;
    this.#first = 0;
    for (const column of [this.#cycles, this.#whats, this.#as, this.#bs, this.#objects]) column.length = 0;
  }

  push(cycle: number, what: number, a: number, b: number, object: unknown): void {
    let i = this.#cycles.length;
    if (i > this.#first && (this.#cycles[i - 1] as number) > cycle) {
      while (i > this.#first && (this.#cycles[i - 1] as number) > cycle) i--;
      this.#cycles.splice(i, 0, cycle);
      this.#whats.splice(i, 0, what);
      this.#as.splice(i, 0, a);
      this.#bs.splice(i, 0, b);
      this.#objects.splice(i, 0, object);
      return;
    }
    this.#cycles.push(cycle);
    this.#whats.push(what);
    this.#as.push(a);
    this.#bs.push(b);
    this.#objects.push(object);
  }
}

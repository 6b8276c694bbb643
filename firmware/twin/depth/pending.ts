const START_rows = 256;

/**
 * What the world has told and the program has not yet met, earliest first; equal times in the order in
 * which they were told. A ring: rows are pushed nearly in order, and taken from the front.
 */
export class Pending {
  /** Of the first row; Infinity: there is none. */
  cycle = Infinity;
  #mask = START_rows - 1;
  #first = 0;
  #n = 0;
  #cycles = new Float64Array(START_rows);
  #whats = new Uint8Array(START_rows);
  #as = new Float64Array(START_rows);
  #bs = new Float64Array(START_rows);
  #objects: unknown[] = new Array<unknown>(START_rows).fill(null);

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
    this.#first = (this.#first + 1) & this.#mask;
    this.#n--;
    this.cycle = this.#n === 0 ? Infinity : (this.#cycles[this.#first] as number);
  }

  push(cycle: number, what: number, a: number, b: number, object: unknown): void {
    if (this.#n > this.#mask) this.#grow();
    const mask = this.#mask;
    const cycles = this.#cycles;
    let i = (this.#first + this.#n) & mask;
    for (let later = this.#n; later > 0; later--) {
      const before = (i - 1) & mask;
      if ((cycles[before] as number) <= cycle) break;
      cycles[i] = cycles[before] as number;
      this.#whats[i] = this.#whats[before] as number;
      this.#as[i] = this.#as[before] as number;
      this.#bs[i] = this.#bs[before] as number;
      this.#objects[i] = this.#objects[before];
      i = before;
    }
    cycles[i] = cycle;
    this.#whats[i] = what;
    this.#as[i] = a;
    this.#bs[i] = b;
    this.#objects[i] = object;
    this.#n++;
    this.cycle = cycles[this.#first] as number;
  }

  #grow(): void {
    const rows = this.#mask + 1;
    const order = Array.from({ length: rows }, (_, k) => (this.#first + k) & this.#mask);
    const grown = new Float64Array(2 * rows);
    const whats = new Uint8Array(2 * rows);
    const as = new Float64Array(2 * rows);
    const bs = new Float64Array(2 * rows);
    const objects = new Array<unknown>(2 * rows).fill(null);
    order.forEach((from, to) => {
      grown[to] = this.#cycles[from] as number;
      whats[to] = this.#whats[from] as number;
      as[to] = this.#as[from] as number;
      bs[to] = this.#bs[from] as number;
      objects[to] = this.#objects[from];
    });
    this.#cycles = grown;
    this.#whats = whats;
    this.#as = as;
    this.#bs = bs;
    this.#objects = objects;
    this.#mask = 2 * rows - 1;
    this.#first = 0;
  }
}

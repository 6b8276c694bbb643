/**
 * What happens next, in CPU cycles. The chip's own units hold one slot each (a unit
 * has at most one thing of a kind under way); the world outside files any number of
 * actions. The run loop compares one number, `next_cycle`, and nothing ticks.
 *
 * At the same cycle slots come first, in the order they were made, then the world's
 * actions in the order they were filed: a run does not depend on how it is sliced.
 */
interface WorldEvent {
  readonly cycle: number;
  readonly order: number;
  readonly action: () => void;
}

const WORLD = -1;

export class Events {
  /** Cycle of the earliest event, Infinity when there is none. */
  next_cycle = Infinity;
  /** Cycle of the event that is being handled, -1 outside of one. */
  handling_cycle = -1;

  readonly #due: number[] = [];
  readonly #actions: (() => void)[] = [];
  readonly #heap: WorldEvent[] = [];
  #filed = 0;
  #next = WORLD;

  /** Makes a slot for a unit's event and gives its number. */
  slot(action: () => void): number {
    this.#actions.push(action);
    return this.#due.push(Infinity) - 1;
  }

  set(slot: number, cycle: number): void {
    this.#due[slot] = cycle;
    if (slot === this.#next) this.#findNext();
    else if (cycle < this.next_cycle || (cycle === this.next_cycle && (this.#next === WORLD || slot < this.#next))) {
      this.next_cycle = cycle;
      this.#next = slot;
    }
  }

  cancel(slot: number): void {
    this.#due[slot] = Infinity;
    if (slot === this.#next) this.#findNext();
  }

  file(cycle: number, action: () => void): void {
    const heap = this.#heap;
    const event: WorldEvent = { cycle, order: this.#filed++, action };
    let at = heap.push(event) - 1;
    while (at > 0) {
      const parent = (at - 1) >> 1;
      const above = heap[parent];
      if (above === undefined || !before(event, above)) break;
      heap[at] = above;
      at = parent;
    }
    heap[at] = event;
    if (cycle < this.next_cycle) {
      this.next_cycle = cycle;
      this.#next = WORLD;
    }
  }

  /** Handles the earliest event. The caller has seen that it is due. */
  runNext(): void {
    this.handling_cycle = this.next_cycle;
    let action: (() => void) | undefined;
    if (this.#next === WORLD) action = this.#takeWorld()?.action;
    else {
      action = this.#actions[this.#next];
      this.#due[this.#next] = Infinity;
    }
    this.#findNext();
    try {
      action?.();
    } finally {
      this.handling_cycle = -1;
    }
  }

  #findNext(): void {
    let cycle = Infinity;
    let next = WORLD;
    for (let slot = 0; slot < this.#due.length; slot++) {
      const due = this.#due[slot] ?? Infinity;
      if (due < cycle) {
        cycle = due;
        next = slot;
      }
    }
    const world = this.#heap[0];
    if (world !== undefined && world.cycle < cycle) {
      cycle = world.cycle;
      next = WORLD;
    }
    this.next_cycle = cycle;
    this.#next = next;
  }

  #takeWorld(): WorldEvent | undefined {
    const heap = this.#heap;
    const first = heap[0];
    const last = heap.pop();
    if (last === undefined || last === first) return first;
    let at = 0;
    for (;;) {
      let child = 2 * at + 1;
      let below = heap[child];
      const right = heap[child + 1];
      if (below !== undefined && right !== undefined && before(right, below)) {
        below = right;
        child++;
      }
      if (below === undefined || !before(below, last)) break;
      heap[at] = below;
      at = child;
    }
    heap[at] = last;
    return first;
  }
}

function before(a: WorldEvent, b: WorldEvent): boolean {
  return a.cycle < b.cycle || (a.cycle === b.cycle && a.order < b.order);
}

import { isStored } from './row_inserts.js';
import type { LetGo, Recorded } from './rows.js';

/** Counts what a full queue had to let go, so that the next batch can record the hole. */
export class LetGoes {
  readonly #open = new Map<string, LetGo>();
  total = 0;

  add(item: Recorded): void {
    if ('message' in item) {
      const { name } = item.message;
      if (isStored(name)) this.#note(item.boot_id, name, item.tick, item.tick, 1);
      this.total++;
    } else if ('lost' in item) this.#note(item.boot_id, item.stream, item.tick_from, item.tick_to, item.lost);
    // A piece of the clock map needs no note: the pieces around it date the same rows, less well.
  }

  get size(): number {
    return this.#open.size;
  }

  entries(): Iterable<LetGo> {
    return this.#open.values();
  }

  clear(): void {
    this.#open.clear();
  }

  #note(boot_id: number, stream: LetGo['stream'], tick_from: number, tick_to: number, lost: number): void {
    const key = `${stream}${boot_id}`;
    const open = this.#open.get(key);
    if (open === undefined) this.#open.set(key, { boot_id, stream, tick_from, tick_to, lost });
    else {
      open.tick_from = Math.min(open.tick_from, tick_from);
      open.tick_to = Math.max(open.tick_to, tick_to);
      open.lost += lost;
    }
  }
}

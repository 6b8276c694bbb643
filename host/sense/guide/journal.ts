import type { Said } from './frame.js';

/** Sentences kept for a client that comes back; a session of an hour says some hundred. */
const KEPT_MOST = 400;

/** What a session has said, numbered, so that a client that was away hears all of it once. */
export class Journal {
  #said: Said[] = [];
  #n = 0;

  say(kind: Said['kind'], text: string): void {
    this.#said.push({ n: ++this.#n, kind, text });
    if (this.#said.length > KEPT_MOST) this.#said.shift();
  }

  get said(): readonly Said[] {
    return this.#said;
  }

  /** For the data of a calibration: warnings belong to it. */
  get warnings(): readonly string[] {
    return this.#said.filter((s) => s.kind === 'warning').map((s) => s.text);
  }
}

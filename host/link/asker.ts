/**
 * When to ask the board for its time, and which answer belongs to which question.
 *
 * The interval is jittered: asked in step with the board's own lines, every
 * question would meet the same queue, and the same error.
 */
const FAST_QUESTIONS = 8;
/** Never below 0.25 s: the protocol allows four questions a second. */
const FAST_us = { from: 250_000, to: 290_000 };
const SLOW_us = { from: 700_000, to: 1_300_000 };
/** An answer that is this late would not bound the time; its question makes room. */
const OUTSTANDING_MAX = 4;

/** Microseconds from question number `asked` (from 1) to the next. */
export function nextAsk_us(asked: number, random: () => number): number {
  const { from, to } = asked < FAST_QUESTIONS ? FAST_us : SLOW_us;
  return from + (to - from) * random();
}

export class Asker {
  readonly #random: () => number;
  readonly #outstanding = new Map<number, number>();
  #seq = 0;
  asked = 0;
  /** Questions that were never answered in time. */
  unanswered = 0;
  /** Answers to no question of ours: late, doubled or from before a reconnect. */
  unmatched = 0;

  constructor(random: () => number) {
    this.#random = random;
  }

  /** Call just before the question is written, with the time then. */
  ask(sent_us: number): { readonly seq: number; readonly next_us: number } {
    const seq = this.#seq;
    this.#seq = (seq + 1) & 0xffff;
    this.asked++;
    this.was(seq, sent_us);
    return { seq, next_us: nextAsk_us(this.asked, this.#random) };
  }

  /** The question of that number was sent then. */
  was(seq: number, sent_us: number): void {
    const oldest = this.#outstanding.size >= OUTSTANDING_MAX ? this.#outstanding.keys().next().value : undefined;
    if (oldest !== undefined) {
      this.#outstanding.delete(oldest);
      this.unanswered++;
    }
    this.#outstanding.set(seq, sent_us);
  }

  /** @returns when the question was sent, or null when it is none of ours */
  answered(question: number): number | null {
    const sent_us = this.#outstanding.get(question);
    if (sent_us === undefined) {
      this.unmatched++;
      return null;
    }
    this.#outstanding.delete(question);
    return sent_us;
  }

}

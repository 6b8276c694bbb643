import { fail } from '../../errors.js';
import type { DatedMessage } from '../../link/dated.js';
import type { Act, Arrival, Guide, GuideView, Live, Outcome, Prompt } from './frame.js';
import { Journal } from './journal.js';

/** What all guided works have alike: a journal, a step that counts, a board that comes and goes, an end. */
export abstract class Session implements Guide {
  abstract readonly act: Act;
  outcome: Outcome | null = null;
  protected readonly journal = new Journal();
  #arrival: Arrival | null = null;
  #gone: string | null = 'no board yet';
  #step = 1;
  #ended: GuideView['ended'] = null;

  protected abstract prompt(): Prompt;
  protected abstract live(): Live | null;
  protected abstract said(word: string): void;
  protected abstract look(dated: DatedMessage): void;
  /** The board is there. @param reset it is another boot than before */
  protected abstract arrived(arrival: Arrival, reset: boolean): void;
  /** It is there no more. */
  protected abstract left(): void;
  protected points(): readonly unknown[] {
    return [];
  }
  protected preview(): unknown {
    return null;
  }

  board(arrival: Arrival): void {
    const before = this.#arrival;
    const away = this.#gone !== null;
    this.#arrival = arrival;
    this.#gone = null;
    const reset = before !== null && before.boot_id !== arrival.boot_id;
    if (!reset && before !== null && away && this.#ended === null) this.journal.say('told', 'The board is back, in the same boot: nothing is lost.');
    this.arrived(arrival, reset);
  }

  gone(reason: string): void {
    if (this.#gone === null && this.#ended === null) this.journal.say('warning', `The board does not answer (${reason.replace(/\.$/, '')}). This goes on when it is back.`);
    this.#gone = reason;
    this.left();
  }

  message(dated: DatedMessage): void {
    if (dated.boot_id === this.#arrival?.boot_id && this.#ended === null) this.look(dated);
  }

  answer(word: string): void {
    const said = word.trim();
    if (this.#ended !== null) throw fail('GUIDE_REFUSED', { why: 'this has ended already' });
    if (said === 'discard') this.#end('discarded', 'Nothing was kept.');
    else this.said(said);
  }

  kept(refused: string | null, says: string): void {
    if (refused === null) {
      this.#end('kept', says);
      return;
    }
    this.outcome = null;
    this.journal.say('refused', refused);
  }

  view(): GuideView {
    const live = this.#ended !== null ? null : this.live();
    return {
      act: this.act,
      step: this.#step,
      prompt: this.prompt(),
      live: live === null || this.#gone === null ? live : { reading: null, settled: false, why_not: this.#gone },
      said: this.journal.said,
      points: this.points(),
      preview: this.preview(),
      ended: this.#ended,
    };
  }

  /** Another thing is asked for from now on. */
  protected next(): void {
    this.#step++;
  }

  protected get boot_id(): number {
    return this.#arrival?.boot_id ?? 0;
  }

  protected get us_per_tick(): number {
    return this.#arrival?.us_per_tick ?? 0.5;
  }

  /** Why the board is not there; null: it is. */
  protected get away(): string | null {
    return this.#gone;
  }

  protected refuse(word: string, why: string): never {
    throw fail('GUIDE_WORD', { word: `"${word.slice(0, 40)}"`, why });
  }

  #end(ended: 'kept' | 'discarded', says: string): void {
    this.#ended = ended;
    this.#step++;
    this.journal.say('told', says);
  }
}

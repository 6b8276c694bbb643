import { fail } from '../../errors.js';
import type { DatedMessage } from '../../link/dated.js';
import type { ZeroRecord } from '../calibration/record.js';
import { ForceWatch } from './force_watch.js';
import type { Arrival, Live, NewZero, Prompt } from './frame.js';
import { discard } from './load_terms.js';
import { Session } from './session.js';
import type { Settled, Unsettled } from './settled.js';

/** What the new zero is held against. */
export interface ZeroContext {
  readonly last: Pick<ZeroRecord, 'zero_id' | 'boot_id' | 'tick' | 'count' | 'u_count'> | null;
  /** Of the calibration in force: counts per unit of load at the zero, and the greatest load; null: none. */
  readonly scale: { readonly counts_per_unit: number; readonly unit: string; readonly range: number } | null;
}

/** A zero that has moved by more of the calibrated range is asked about: something may hang on the arm. */
const MOVED_SHARE = 0.02;

/** One zero, taken as soon as it is settled. */
export class ZeroSession extends Session {
  readonly act = 'zero';
  readonly #watch = new ForceWatch();
  readonly #context: ZeroContext;
  #verdict: Settled | Unsettled | null = null;
  #found: NewZero | null = null;

  constructor(context: ZeroContext) {
    super();
    this.#context = context;
  }

  protected arrived(arrival: Arrival, reset: boolean): void {
    this.#watch.board(arrival);
    this.#verdict = null;
    if (!reset) return;
    this.journal.say('warning', 'The board was reset: the zero is read anew.');
    this.#found = null;
    this.next();
  }

  protected left(): void {
    this.#verdict = null;
  }

  protected look(dated: DatedMessage): void {
    if (!this.#watch.message(dated) || this.#found !== null) return;
    this.#verdict = this.#watch.judge({ noise_count: null, load_count: 0 });
    if (this.#verdict.settled) this.#take(this.#verdict);
  }

  protected said(word: string): void {
    if (word === 'again') {
      this.#found = null;
      this.#watch.restart();
      this.next();
    } else if (word === 'keep' && this.#found !== null) this.#keep(this.#found);
    else if (word === '' || word === 'take') throw fail('GUIDE_REFUSED', { why: this.away ?? (this.#verdict?.settled === false ? this.#verdict.why : 'wait for a reading') });
    else this.refuse(word, 'answer again or discard, or keep where a zero was found');
  }

  protected override points(): readonly unknown[] {
    return this.#found === null ? [] : [this.#found];
  }

  protected live(): Live | null {
    return this.#found === null ? liveOf(this.#verdict) : null;
  }

  protected prompt(): Prompt {
    const again = { word: 'again', says: 'read it anew' };
    if (this.#found === null) return { id: 'zero', asks: 'reading', says: 'Zero. Nothing on the arm, brake free, engine stopped, hands off. If something hung there, lift it off slowly, and wait a minute.', example: null, words: [again, discard] };
    return { id: 'result', asks: 'choice', says: 'Keep this zero?', example: 'keep', words: [{ word: 'keep', says: 'it is a zero' }, again, discard] };
  }

  #take(reading: Settled): void {
    const zero = zeroOf(reading, this.boot_id, '');
    this.#found = zero;
    this.next();
    this.journal.say('taken', `Zero: ${zero.count.toFixed(1)} counts, u ${zero.u_count.toFixed(1)} (${zero.n} conversions).`);
    const { last, scale } = this.#context;
    if (last === null) {
      this.journal.say('told', 'It is the first of this rig.');
      this.#keep(zero);
      return;
    }
    const moved = zero.count - last.count;
    const in_unit = scale === null ? '' : ` = ${((1000 * moved) / scale.counts_per_unit).toFixed(3)} m${scale.unit}`;
    const when = last.boot_id === zero.boot_id ? `, ${(((zero.tick - last.tick) * this.us_per_tick) / 60e6).toFixed(1)} min before` : ', in an earlier boot';
    this.journal.say('told', `Since the last one (${last.zero_id}${when}) it has moved by ${moved.toFixed(1)} counts${in_unit}; u of that ${Math.hypot(zero.u_count, last.u_count).toFixed(1)}.`);
    const share = scale === null ? 0 : Math.abs(moved / scale.counts_per_unit / scale.range);
    if (share > MOVED_SHARE) this.journal.say('warning', `That is ${(100 * share).toFixed(1)} % of the calibrated range: does something hang on the arm, or rub?`);
    else this.#keep(zero);
  }

  #keep(zero: NewZero): void {
    this.outcome = { calibrations: [], zeros: [zero], check: null };
  }
}

export function zeroOf({ count, u_count, n, tick_from, tick_to }: Settled, boot_id: number, remark: string): NewZero {
  return { boot_id, tick: Math.round((tick_from + tick_to) / 2), tick_from, tick_to, count, u_count, n, remark };
}

export function liveOf(verdict: Settled | Unsettled | null): Live {
  if (verdict === null || verdict.count === null) return { reading: null, settled: false, why_not: verdict?.settled === false ? verdict.why : 'waiting for readings' };
  return { reading: `${verdict.count.toFixed(0)} counts`, settled: verdict.settled, why_not: verdict.settled ? null : verdict.why };
}

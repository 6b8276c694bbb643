import { fail } from '../../errors.js';
import type { DatedMessage } from '../../link/dated.js';
import type { LoadModel } from '../calibration/model.js';
import { checkMass } from '../load/check.js';
import type { MassCheck } from '../load/check.js';
import { hungLoads } from '../load/hung.js';
import { loadReading } from '../load/reading.js';
import { zeroAt } from '../load/zero.js';
import type { Zero } from '../load/zero.js';
import type { Sheet } from '../sheet.js';
import { ForceWatch } from './force_watch.js';
import type { Arrival, Live, NewCheck, NewZero, Prompt } from './frame.js';
import { LEFT_noises } from './load_look.js';
import { discard } from './load_terms.js';
import type { LoadTerms } from './load_terms.js';
import { Session } from './session.js';
import type { Settled, Unsettled } from './settled.js';
import { gravityOf, lengthOf, massOf } from './words.js';
import type { Rung } from './words.js';
import { liveOf, zeroOf } from './zero_session.js';

export interface CheckContext {
  /** Such as `rig 3`: its weights are one set. */
  readonly rig: string;
  readonly calibration: { readonly cal_id: number; readonly model: LoadModel } | null;
  /** Where masses hang, as the calibration was told it; null: it has to be asked. */
  readonly hung: Pick<LoadTerms, 'length' | 'gravity'> | null;
  /** Of the boot that is running, as the record has them. */
  readonly zeros: readonly Zero[];
  readonly boot_id: number;
  readonly sheet: Sheet;
}

export const checkQuestions = ['mass', 'length', 'gravity'] as const;
export type CheckQuestion = (typeof checkQuestions)[number];

/** An older zero is taken anew before a mass is checked by it. */
const ZERO_FRESH_s = 1800;

/** One known mass, against what the calibration makes of it. */
export class CheckSession extends Session {
  readonly act = 'check';
  readonly #watch = new ForceWatch();
  readonly #context: CheckContext;
  #mass: Rung | null = null;
  #hung: CheckContext['hung'];
  #length: LoadTerms['length'] | null = null;
  #zeros: readonly Zero[];
  #zero: NewZero | null = null;
  #noise: number | null = null;
  #verdict: Settled | Unsettled | null = null;
  #why_not: string | null = null;
  #found: { readonly check: NewCheck; readonly result: MassCheck | null } | null = null;

  /** @throws what an answer that was given up front is refused with */
  constructor(context: CheckContext, answers: Readonly<Partial<Record<CheckQuestion, string>>>) {
    super();
    this.#context = context;
    this.#hung = context.hung;
    this.#zeros = context.zeros;
    for (const name of checkQuestions) if (answers[name] !== undefined && this.#question === name) this.#answerQuestion(name, answers[name]);
  }

  protected arrived(arrival: Arrival, reset: boolean): void {
    this.#watch.board(arrival);
    this.#verdict = null;
    // Ticks of another boot have another beginning: those zeros are of no use here.
    if (arrival.boot_id !== this.#context.boot_id) this.#zeros = [];
    if (!reset) return;
    this.journal.say('warning', 'The board was reset: the zero is taken anew.');
    this.#found = this.#zero = null;
    this.next();
  }

  protected left(): void {
    this.#verdict = null;
  }

  protected look(dated: DatedMessage): void {
    if (!this.#watch.message(dated) || this.#question !== null || this.#found !== null) return;
    const verdict = this.#watch.judge({ noise_count: this.#noise, load_count: 0 });
    this.#verdict = verdict;
    this.#why_not = verdict.settled ? this.#settled(verdict) : verdict.why;
  }

  protected said(word: string): void {
    const question = this.#question;
    if (question !== null) {
      this.#answerQuestion(question, word);
      this.next();
    } else if (word === 'again') {
      this.#found = null;
      this.#watch.restart();
      this.next();
    } else if (this.#found !== null) {
      if (word !== 'keep') this.refuse(word, 'answer keep, again or discard');
      this.#keep();
    } else if (word === '' || word === 'take') {
      if (this.#verdict?.settled !== true) throw fail('GUIDE_REFUSED', { why: this.away ?? this.#verdict?.why ?? 'wait for a reading' });
      if (!this.#zeroKnown) this.#takeZero(this.#verdict);
      else throw fail('GUIDE_REFUSED', { why: this.#why_not ?? 'wait for a reading' });
    } else this.refuse(word, 'answer with Enter or take, or with again or discard');
  }

  protected override points(): readonly unknown[] {
    return this.#found === null ? [] : [this.#found.check];
  }

  protected override preview(): unknown {
    return this.#found?.result === null || this.#found === null ? null : { ...this.#found.result, text: [] };
  }

  protected live(): Live | null {
    return this.#question !== null || this.#found !== null ? null : { ...liveOf(this.#verdict), ...(this.#verdict?.settled === true ? { why_not: this.#why_not } : {}) };
  }

  protected prompt(): Prompt {
    const mass = this.#mass?.says ?? '';
    const again = { word: 'again', says: 'read it anew' };
    const asked = (id: string, says: string, example: string): Prompt => ({ id, asks: 'text', says, example, words: [discard] });
    switch (this.#question) {
      case 'mass':
        return asked('mass', 'Which mass will you hang? With its OIML class or tolerance.', '100 g M1');
      case 'length':
        return asked('length', 'At what radius will it hang, from the axis of the shaft to the thread?', '60 mm +-0.2 mm');
      case 'gravity':
        return asked('gravity', 'Where is the bench (latitude, height), or what is gravity there?', '52.5 deg, 40 m');
      case null:
        if (this.#found !== null) return { id: 'result', asks: 'choice', says: 'Keep this check?', example: 'keep', words: [{ word: 'keep', says: 'keep it as it is' }, again, discard] };
        if (!this.#zeroKnown) return { id: 'zero', asks: 'reading', says: 'A zero first. Nothing on the arm, brake free, engine stopped; then press Enter.', example: null, words: [{ word: 'take', says: 'or Enter: nothing hangs, take it' }, discard] };
        return { id: `hang ${mass}`, asks: 'reading', says: `Hang ${mass}, brake free, engine stopped, hands off. Let it down slowly, and do not press: the cell must come up to the load from below.`, example: null, words: [again, discard] };
    }
  }

  get #question(): CheckQuestion | null {
    if (this.#mass === null) return 'mass';
    if (this.#context.calibration === null || this.#hung !== null) return null;
    return this.#length === null ? 'length' : 'gravity';
  }

  #answerQuestion(name: CheckQuestion, word: string): void {
    if (name === 'mass') this.#mass = massOf(word);
    else if (name === 'length') this.#length = lengthOf(word);
    else if (this.#length !== null) this.#hung = { length: this.#length, gravity: gravityOf(word) };
  }

  get #zeroKnown(): boolean {
    if (this.#zero !== null) return true;
    const last = this.#zeros.at(-1);
    return last !== undefined && (this.#watch.tick * this.us_per_tick) / 1e6 - last.t_s < ZERO_FRESH_s;
  }

  /** @returns why it is not taken, or null */
  #settled(reading: Settled): string | null {
    if (!this.#zeroKnown) return 'press Enter when nothing hangs on the arm';
    const zero = this.#zeros.at(-1);
    if (zero !== undefined && Math.abs(reading.count - zero.count) < LEFT_noises * reading.sd_count) return `nothing hangs on the arm yet: hang ${this.#mass?.says ?? ''}`;
    this.#take(reading);
    return null;
  }

  #takeZero(reading: Settled): void {
    this.#zero = zeroOf(reading, this.boot_id, 'check');
    this.#noise = reading.sd_count;
    this.#zeros = [...this.#zeros, this.#asZero(reading)];
    this.journal.say('taken', `Zero: ${reading.count.toFixed(1)} counts, u ${reading.u_count.toFixed(1)}.`);
    this.#watch.restart();
    this.#verdict = null;
    this.next();
  }

  #asZero({ count, u_count, dof, tick_from, tick_to }: Settled): Zero {
    return { id: `boot ${this.boot_id}, tick ${Math.round((tick_from + tick_to) / 2)}`, t_s: ((tick_from + tick_to) * this.us_per_tick) / 2e6, count, u_count, dof };
  }

  #take(reading: Settled): void {
    const { count, u_count, dof, sd_count, n, tick_from, tick_to } = reading;
    const tick = Math.round((tick_from + tick_to) / 2);
    const mass_kg = this.#mass?.mass_kg ?? 0;
    const result = this.#compare({ id: `boot ${this.boot_id}, tick ${tick}`, count, u_count, dof, sd_count }, (tick * this.us_per_tick) / 1e6);
    const { expected = null, read = null, unit = null, passed = null } = result ?? {};
    const check: NewCheck = { boot_id: this.boot_id, tick, tick_from, tick_to, count, u_count, n, nominal_kg: mass_kg, cal_id: this.#context.calibration?.cal_id ?? null, expected, read, unit, passed, remark: '' };
    this.#found = { check, result };
    this.next();
    this.journal.say('taken', `${this.#mass?.says ?? ''}: ${count.toFixed(1)} counts, u ${u_count.toFixed(1)} (${n} conversions).`);
    if (result === null) this.journal.say('warning', 'There is no calibration here to read it by: it is kept, and neither passes nor fails.');
    else this.journal.say(result.passed ? 'told' : 'warning', result.says);
    if (result === null || result.passed) this.#keep();
  }

  #compare(counts: Parameters<typeof loadReading>[0], t_s: number): MassCheck | null {
    const model = this.#context.calibration?.model;
    if (model === undefined || this.#hung === null || this.#mass === null) return null;
    const { torque, force, reason } = loadReading(counts, zeroAt(this.#zeros, t_s, model, this.#context.sheet), model);
    const { gravity, length } = this.#hung;
    const [expected] = hungLoads([this.#mass.pieces], { kind: model.kind, set: `${this.#context.rig} weights`, gravity, arm: length });
    const read = model.kind === 'torque' ? torque : force;
    if (read !== null && expected !== undefined) return checkMass(expected, read);
    this.journal.say('warning', `It cannot be read: ${reason ?? 'no reading'}.`);
    return null;
  }

  #keep(): void {
    if (this.#found !== null) this.outcome = { calibrations: [], zeros: this.#zero === null ? [] : [this.#zero], check: this.#found.check };
  }
}

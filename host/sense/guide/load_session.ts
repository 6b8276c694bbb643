import { fail, SmallbrakeError } from '../../errors.js';
import type { DatedMessage } from '../../link/dated.js';
import type { Place } from '../calibration/record.js';
import { ForceWatch } from './force_watch.js';
import type { Arrival, Live, Prompt } from './frame.js';
import type { Fitted, LoadFitter } from './load_fitted.js';
import { Ladder, pointOf } from './load_ladder.js';
import { LEFT_noises, look } from './load_look.js';
import type { Look } from './load_look.js';
import { Preload } from './load_preload.js';
import { costOfSkipping, readingPrompt, resultPrompt } from './load_prompts.js';
import { HOLD_s, stepName } from './load_steps.js';
import type { Step } from './load_steps.js';
import { LoadQuestions, termNames } from './load_terms.js';
import type { LoadLimits, TermName } from './load_terms.js';
import { Session } from './session.js';
import type { Settled, Unsettled } from './settled.js';
import { liveOf, zeroOf } from './zero_session.js';

export interface LoadSetting {
  readonly limits: LoadLimits;
  readonly fit: LoadFitter;
  /** Answers given up front; used as their questions come. */
  readonly answers: Readonly<Partial<Record<TermName, string>>>;
}

/** Before this the cell and the converter still warm up from their own power (common practice, no source). */
const WARM_s = 300;
const QUIET_PRELOAD_s = 1;
/** Whoever insists cannot make a number of these. */
const noReading: readonly Unsettled['reason'][] = ['no_reading', 'fault', 'saturated', 'settling', 'turning', 'overload'];

/** The guided calibration of the load cell. */
export class LoadSession extends Session {
  readonly act = 'load';
  readonly #watch = new ForceWatch();
  readonly #questions: LoadQuestions;
  readonly #fit: LoadFitter;
  #ladder: Ladder | null = null;
  #preload = new Preload();
  #reversed = false;
  #warned = false;
  /** The count that has to be left before a reading counts as the next; null: none. */
  #reference: number | null = null;
  #verdict: Settled | Unsettled | null = null;
  #why_not: string | null = null;
  #hold_from: number | null = null;
  #degree: 1 | 2 | null = null;
  #fitted: Fitted | null = null;

  /** @throws what an answer that was given up front is refused with */
  constructor({ limits, fit, answers }: LoadSetting) {
    super();
    this.#questions = new LoadQuestions(limits);
    this.#fit = fit;
    for (const name of termNames) {
      const word = answers[name];
      if (word !== undefined && this.#questions.next === name) this.#questions.answer(name, word);
    }
    this.#begin();
  }

  protected arrived(arrival: Arrival, reset: boolean): void {
    this.#watch.board(arrival);
    this.#fresh();
    if (!reset) return;
    const step = this.#ladder?.now ?? null;
    this.journal.say('warning', step === null ? 'The board was reset.' : `The board was reset: ${stepName(step)} is read anew; what was taken before stays.`);
    this.next();
  }

  protected left(): void {
    this.#watch.restart();
    this.#fresh();
  }

  protected look(dated: DatedMessage): void {
    if (!this.#watch.message(dated)) return;
    const step = this.#ladder?.now ?? null;
    if (this.#ladder === null || step === null) return;
    this.#warnCold();
    const verdict = this.#watch.judge({ noise_count: this.#ladder.noise, load_count: this.#ladder.span, ...(step.kind === 'preload' ? { quiet_s: QUIET_PRELOAD_s } : {}) });
    this.#verdict = verdict;
    // Whatever hangs next, it was another load in between.
    const { noise } = this.#ladder;
    if (this.#reference !== null && noise !== null && verdict.count !== null && Math.abs(verdict.count - this.#reference) > 2 * LEFT_noises * noise) this.#reference = null;
    this.#why_not = verdict.settled ? this.#settled(step, verdict) : verdict.why;
  }

  protected said(word: string): void {
    const question = this.#questions.next;
    if (question !== null) {
      if (word === 'undo') this.#questions.undo();
      else this.#questions.answer(question, word);
      this.#begin();
      this.next();
    } else if (this.#ladder !== null && this.#ladder.now !== null) this.#atReading(this.#ladder.now, word);
    else this.#atResult(word);
  }

  protected prompt(): Prompt {
    const question = this.#questions.next;
    if (question !== null) return this.#questions.prompt(question);
    const ladder = this.#ladder;
    return ladder?.now === null || ladder === null ? resultPrompt(this.#fitted) : readingPrompt(ladder.now, ladder.at, ladder.steps, ladder.rungs);
  }

  protected live(): Live | null {
    if (this.#ladder === null || this.#ladder.now === null) return null;
    const { zero, slope } = this.#ladder;
    const live = liveOf(this.#verdict);
    if (live.reading === null || this.#verdict === null) return live;
    const as = zero === null || slope === null || this.#verdict.count === null ? '' : ` = ${((this.#verdict.count - zero.reading.count) / slope).toFixed(1)} g`;
    return { ...live, reading: live.reading + as, why_not: this.#why_not };
  }

  protected override points(): readonly unknown[] {
    return this.#ladder?.taken.map(pointOf) ?? [];
  }

  protected override preview(): unknown {
    return this.#fitted === null ? null : { ...this.#fitted.report, text: this.#fitted.text };
  }

  #begin(): void {
    if (this.#questions.terms !== null) this.#ladder = new Ladder(this.#questions.terms.rungs);
  }

  #warnCold(): void {
    if (this.#warned || this.#watch.tick === 0) return;
    this.#warned = true;
    const { up_s } = this.#watch;
    if (up_s < WARM_s) this.journal.say('warning', `The board started ${(up_s / 60).toFixed(1)} min ago, and cell and converter drift while they warm: ${WARM_s / 60} min or more are better. Wait, or go on.`);
  }

  // ---- a reading has settled

  /** @returns why it is not taken, or null */
  #settled(step: Step, reading: Settled): string | null {
    if (step.kind === 'preload') return this.#preloaded(step, reading);
    if (step.kind === 'zero') {
      const where = this.#preload.where(reading.count, reading.sd_count);
      // Only after a preload is it known where nothing hangs; else a person has to say so.
      if (where !== 'empty') return where === 'loaded' ? 'something still hangs on the arm: take all off' : 'press Enter when nothing hangs on the arm';
    } else {
      const seen = this.#seen(step, reading, this.#reference);
      if (seen.kind !== 'take') return seen.why;
      if (step.kind === 'hold' && this.#heldFor(reading) < HOLD_s) return `creep is being watched: ${Math.ceil(HOLD_s - this.#heldFor(reading))} s more`;
    }
    this.#take(reading, null);
    return null;
  }

  #preloaded(step: Step, { count, sd_count }: Settled): string | null {
    if (this.#preload.settled(count, sd_count)) this.journal.say('told', this.#preload.says);
    if (!this.#preload.done) return this.#preload.wants(step.rung?.says ?? '');
    this.#ladder?.pass();
    this.#turn(null);
    return null;
  }

  #seen(step: Step, reading: Settled, reference: number | null): Look {
    const { taken = [], noise = null } = this.#ladder ?? {};
    return look(step, reading.count, { taken, reference, noise: noise ?? reading.sd_count, reversed: this.#reversed });
  }

  #heldFor(reading: Settled): number {
    this.#hold_from ??= reading.tick_from;
    return ((reading.tick_to - this.#hold_from) * this.us_per_tick) / 1e6;
  }

  #take(reading: Settled, in_spite_of: string | null): void {
    const taken = this.#ladder?.take(this.boot_id, reading, in_spite_of);
    if (taken === undefined) return;
    const name = stepName(taken.step);
    const seconds = ((reading.tick_to - reading.tick_from) * this.us_per_tick) / 1e6;
    this.journal.say('taken', `Taken: ${name}, ${reading.count.toFixed(1)} counts, u ${reading.u_count.toFixed(1)} (${reading.n} conversions in ${seconds.toFixed(1)} s).${taken.step.kind === 'hold' ? this.#creep(reading) : ''}`);
    if (in_spite_of !== null) this.journal.say('warning', `${name} was taken in spite of this: ${in_spite_of}`);
    this.#turn(reading.count);
  }

  #creep(reading: Settled): string {
    const top = this.#ladder?.taken.findLast((t) => t.step.kind === 'up');
    if (top === undefined || top.boot_id !== this.boot_id || this.#ladder === null) return '';
    const change = reading.count - top.reading.count;
    const span_s = ((reading.tick_to - top.reading.tick_to) * this.us_per_tick) / 1e6;
    return ` Creep: ${change.toFixed(1)} counts in ${span_s.toFixed(0)} s, ${((100 * change) / this.#ladder.span).toFixed(4)} % of the load.`;
  }

  /** Another step begins. @param reference what has to be left first */
  #turn(reference: number | null): void {
    this.#reference = reference;
    this.#watch.restart();
    this.#fresh();
    this.#refit(false);
    this.next();
  }

  #fresh(): void {
    this.#verdict = null;
    this.#why_not = null;
    this.#hold_from = null;
  }

  // ---- answers

  #atReading(step: Step, word: string): void {
    if (word === '' || word === 'take' || word === 'take anyway') {
      if (step.kind === 'preload') throw fail('GUIDE_REFUSED', { why: `${this.#preload.wants(step.rung?.says ?? '')}; skip leaves the preload out, which is noted` });
      this.#takeAsked(step, word === 'take anyway');
    } else if (word === 'again' || word === 'undo') this.#back(word === 'undo');
    else if (word === 'skip') {
      const skipped = this.#ladder?.skip() ?? step;
      this.journal.say('warning', `Left out: ${stepName(skipped)} (${costOfSkipping[skipped.kind]}).`);
      this.#turn(this.#reference);
    } else if (word === 'reversed') {
      this.#reversed = true;
      this.journal.say('warning', 'Noted: the count falls when the brake pulls.');
    } else this.refuse(word, 'answer with Enter or take, or with again, undo, skip, take anyway or discard');
  }

  #takeAsked(step: Step, insists: boolean): void {
    const verdict = this.#verdict;
    if (verdict === null || this.away !== null) throw fail('GUIDE_REFUSED', { why: (this.away ?? 'there is no reading yet').replace(/\.$/, '') });
    if (!verdict.settled && (!insists || noReading.includes(verdict.reason))) throw fail('GUIDE_REFUSED', { why: verdict.why });
    const reading = verdict.settled ? verdict : this.#watch.meanNow();
    if (reading === null) throw fail('GUIDE_REFUSED', { why: 'there are too few readings yet' });
    const seen = this.#seen(step, reading, step.kind === 'hold' ? null : this.#reference);
    if (seen.kind === 'never' || (seen.kind === 'wait' && !insists)) throw fail('GUIDE_REFUSED', { why: seen.why });
    this.#take(reading, seen.kind === 'wait' ? seen.why : verdict.settled ? null : verdict.why);
  }

  /** The step before is done again: as it hangs now, or (undo) after another mass was hung. */
  #back(otherwise: boolean): void {
    const back = this.#ladder?.back();
    if (back === undefined) return;
    if (back.step.kind === 'preload') this.#preload = new Preload();
    if (back.taken !== null) this.journal.say('told', `${stepName(back.step)} was taken back.`);
    this.#turn(otherwise ? (back.taken?.reading.count ?? null) : null);
  }

  #atResult(word: string): void {
    const degrees = { straight: 1, quadratic: 2, evidence: null } as const;
    if (word === 'again' || word === 'undo') this.#back(word === 'undo');
    else if (word === 'more') {
      this.#ladder?.addRound();
      this.journal.say('told', 'One more round: the same loads up and down.');
      this.#turn(this.#reference);
    } else if (word in degrees) {
      this.#degree = degrees[word as keyof typeof degrees];
      this.#refit(true);
      this.next();
    } else this.#keep(word);
  }

  #keep(word: string): void {
    const keep = /^keep(?: from (boot|(\d+(?:[.,]\d+)?) min))?$/.exec(word);
    if (keep === null) this.refuse(word, 'answer keep, keep from boot, keep from 20 min, more, straight, quadratic, evidence, again or discard');
    this.#refit(true);
    const zero = this.#ladder?.zero ?? null;
    if (this.#fitted === null || zero === null) throw fail('GUIDE_REFUSED', { why: 'these readings give no calibration yet' });
    const back_ticks = (Number((keep[2] ?? '0').replace(',', '.')) * 60e6) / this.us_per_tick;
    const tick = keep[1] === 'boot' ? 0 : Math.max(0, Math.round(zero.reading.tick_from - back_ticks));
    const from: Place = { boot_id: zero.boot_id, tick };
    this.outcome = {
      calibrations: [{ channel: 'load', from, model: this.#fitted.model, data: this.#data(), remark: this.journal.warnings.join(' ') }],
      zeros: (this.#ladder?.taken ?? []).filter((t) => t.step.rung === null).map((t) => zeroOf(t.reading, t.boot_id, `calibration, ${stepName(t.step)}`)),
      check: null,
    };
  }

  // ---- what comes of it

  /** @param must a failure is told to whoever asked */
  #refit(must: boolean): void {
    const { terms } = this.#questions;
    const ladder = this.#ladder;
    this.#fitted = null;
    if (terms === null || ladder === null || !ladder.enough) return;
    try {
      this.#fitted = this.#fit({ terms, taken: ladder.taken, degree: this.#degree, us_per_tick: this.us_per_tick });
    } catch (thrown) {
      if (!(thrown instanceof SmallbrakeError)) throw thrown;
      if (must) throw fail('GUIDE_REFUSED', { why: thrown.message.replace(/\.$/, '') });
      if (ladder.now === null) this.journal.say('refused', thrown.message);
    }
  }

  /** All that was seen and entered: the fit can be done again from it. */
  #data(): unknown {
    return {
      how: 'guided',
      terms: this.#questions.terms,
      readings: this.points(),
      skipped: this.#ladder?.skipped.map(stepName) ?? [],
      preloads: this.#preload.cycles,
      reversed: this.#reversed,
      degree_asked: this.#degree,
      warnings: this.journal.warnings,
      us_per_tick: this.us_per_tick,
      report: this.#fitted?.report ?? null,
    };
  }
}

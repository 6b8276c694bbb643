import { fail } from '../../errors.js';
import { slopeOf } from './load_look.js';
import { mass_g, stepName, stepsOf } from './load_steps.js';
import type { Step, Taken } from './load_steps.js';
import type { Settled } from './settled.js';
import type { Rung } from './words.js';

/** The least that still shows a curve. */
export const LOADS_LEAST = 3;

/** Where a calibration stands in its loads, and what was read so far. */
export class Ladder {
  readonly #rungs: readonly Rung[];
  #steps: readonly Step[];
  #at = 0;
  #rounds = 1;
  #taken: readonly Taken[] = [];
  #skipped: readonly Step[] = [];

  /** @param rungs rising */
  constructor(rungs: readonly Rung[]) {
    this.#rungs = rungs;
    this.#steps = stepsOf(rungs, 1);
  }

  get rungs(): readonly Rung[] {
    return this.#rungs;
  }

  /** null: all have been taken or left out. */
  get now(): Step | null {
    return this.#steps[this.#at] ?? null;
  }

  get at(): number {
    return this.#at;
  }

  get steps(): readonly Step[] {
    return this.#steps;
  }

  get taken(): readonly Taken[] {
    return this.#taken;
  }

  get skipped(): readonly Step[] {
    return this.#skipped;
  }

  get zero(): Taken | null {
    return this.#taken.find((t) => t.step.kind === 'zero') ?? null;
  }

  /** Standard deviation of one conversion, at the zero. */
  get noise(): number | null {
    return this.zero?.reading.sd_count ?? null;
  }

  /** Counts per gram so far. */
  get slope(): number | null {
    return this.zero === null ? null : slopeOf(this.#taken, this.zero.reading.count);
  }

  /** Counts from the zero to the greatest load so far; 0 before there is one. */
  get span(): number {
    return Math.abs(this.slope ?? 0) * Math.max(0, ...this.#taken.map((t) => mass_g(t.step)));
  }

  /** Enough different loads for a fit. */
  get enough(): boolean {
    return this.zero !== null && new Set(this.#taken.map((t) => mass_g(t.step))).size > LOADS_LEAST;
  }

  addRound(): void {
    this.#rounds++;
    this.#steps = [...this.#steps, ...stepsOf(this.#rungs, this.#rounds)];
  }

  take(boot_id: number, reading: Settled, in_spite_of: string | null): Taken {
    if (this.now === null) throw fail('INTERNAL', { reason: 'there is no step to take a reading for' });
    const taken = { step: this.now, boot_id, reading, in_spite_of };
    this.#taken = [...this.#taken, taken];
    this.#at++;
    return taken;
  }

  /** Goes on without a reading: it was no step for one. */
  pass(): void {
    this.#at++;
  }

  /** @throws GUIDE_REFUSED where too little would be left */
  skip(): Step {
    const step = this.now;
    if (step === null || step.kind === 'zero') throw fail('GUIDE_REFUSED', { why: 'without a zero there is no calibration' });
    const isLoad = ({ kind, rung }: Step): boolean => rung !== null && kind !== 'preload' && kind !== 'hold';
    const left = new Set(this.#steps.filter((s, i) => isLoad(s) && (i > this.#at || this.#taken.some((t) => t.step === s))).map(mass_g));
    if (isLoad(step) && left.size < LOADS_LEAST) throw fail('GUIDE_REFUSED', { why: `fewer than ${LOADS_LEAST} loads would be left` });
    this.#skipped = [...this.#skipped, step];
    this.#at++;
    return step;
  }

  /** Back by one step. @returns it, and its reading if it had one; @throws GUIDE_REFUSED at the beginning */
  back(): { readonly step: Step; readonly taken: Taken | null } {
    const step = this.#steps[this.#at - 1];
    if (step === undefined) throw fail('GUIDE_REFUSED', { why: 'nothing was taken yet that could be done again' });
    this.#at--;
    const taken = this.#taken.find((t) => t.step === step) ?? null;
    this.#taken = this.#taken.filter((t) => t.step !== step);
    this.#skipped = this.#skipped.filter((s) => s !== step);
    return { step, taken };
  }
}

/** A reading as it is kept and shown: plain JSON. */
export function pointOf({ step, boot_id, reading, in_spite_of }: Taken): Record<string, unknown> {
  const { count, u_count, dof, sd_count, n, tick_from, tick_to, slope_count_s } = reading;
  return { step: step.kind, round: step.round, name: stepName(step), mass_g: mass_g(step), boot_id, count, u_count, dof, sd_count, n, tick_from, tick_to, slope_count_s, in_spite_of };
}

import { fail } from '../../errors.js';
import type { DatedMessage } from '../../link/dated.js';
import type { ThermistorModel } from '../calibration/model.js';
import type { Sheet } from '../sheet.js';
import type { CoolantSums } from '../thermal/coolant_difference.js';
import { isothermalMatch } from '../thermal/isothermal_match.js';
import type { MatchResult } from '../thermal/isothermal_match.js';
import { betaModel } from '../thermal/thermistor_model.js';
import type { Live, Outcome, Prompt } from './frame.js';
import { discard } from './load_terms.js';
import { Session } from './session.js';

export interface MatchContext {
  /** Such as `rig 3`. */
  readonly rig: string;
  /** What both coolant sensors are calibrated as; null: it has to be asked. */
  readonly models: { readonly in: ThermistorModel; readonly out: ThermistorModel } | null;
  /** By which type of sensor the readings go too, so that what both share cancels. */
  readonly type: string;
  readonly sheet: Sheet;
}

type Matched = Extract<MatchResult, { state: 'matched' }>;

interface Row extends CoolantSums {
  readonly tick: number;
}

/** Over how long both are read, and how often it is looked whether that does. */
const SPAN_s = 60;
const LOOK_s = 2;

/** Both coolant sensors in one bath: how far they stand apart. */
export class MatchSession extends Session {
  readonly act = 'match';
  readonly #context: MatchContext;
  #models: MatchContext['models'];
  #told: string | null = null;
  #rows: Row[] = [];
  #looked_tick = 0;
  #why_not = 'waiting for readings';
  #matched: Matched | null = null;

  constructor(context: MatchContext, answers: { readonly sensors?: string }) {
    super();
    this.#context = context;
    this.#models = context.models;
    if (this.#models === null && answers.sensors !== undefined) this.#tell(answers.sensors);
  }

  protected arrived(_arrival: unknown, reset: boolean): void {
    this.#rows = [];
    this.#looked_tick = 0;
    if (reset) this.journal.say('warning', 'The board was reset: the bath is read anew.');
  }

  protected left(): void {
    this.#rows = [];
  }

  protected look({ tick, message: m }: DatedMessage): void {
    if (m.name !== 'water' || this.#models === null || this.#matched !== null) return;
    this.#rows.push({ tick, in: { sum: m.in_sum, spread: m.in_spread }, out: { sum: m.out_sum, spread: m.out_spread } });
    // One message more than the span, so that it is not short of its own length.
    while (this.#seconds(tick - (this.#rows[1]?.tick ?? tick)) > SPAN_s) this.#rows.shift();
    if (this.#seconds(tick - this.#looked_tick) < LOOK_s) return;
    this.#looked_tick = tick;
    const span_s = this.#span_s;
    if (span_s < SPAN_s) {
      this.#why_not = `${span_s.toFixed(0)} s of ${SPAN_s} s`;
      return;
    }
    const first = this.#rows[0];
    const result = isothermalMatch(this.#rows, span_s, this.#models, this.#context.sheet, { rig: this.#context.rig, type: this.#context.type, span: `boot ${this.boot_id}, tick ${first?.tick ?? 0}` });
    if (result.state === 'refused') {
      this.#why_not = result.reason;
      return;
    }
    this.#matched = result;
    this.next();
    this.journal.say('taken', `Out less in: ${result.offset_K.toFixed(4)} K at ${result.model.at_C.toFixed(2)} C; scatter of that ${result.u_noise_K.toFixed(4)} K, the bath moved ${result.drift_K_per_min.toFixed(3)} K a minute.`);
    if (result.warning !== null) this.journal.say('warning', result.warning);
  }

  protected said(word: string): void {
    if (this.#models === null) {
      this.#tell(word);
      this.next();
    } else if (word === 'again') {
      this.#matched = null;
      this.#rows = [];
      this.next();
    } else if (word === 'keep' && this.#matched !== null) this.outcome = this.#outcomeOf(this.#matched);
    else if (word === '' || word === 'take') throw fail('GUIDE_REFUSED', { why: this.#why_not });
    else this.refuse(word, this.#matched === null ? 'answer again or discard, or wait' : 'answer keep, again or discard');
  }

  protected live(): Live | null {
    if (this.#models === null || this.#matched !== null) return null;
    return { reading: this.#rows.length === 0 ? null : `${this.#rows.length} messages`, settled: false, why_not: this.#why_not };
  }

  protected override preview(): unknown {
    const m = this.#matched;
    return m === null ? null : { offset_K: m.offset_K, u_noise_K: m.u_noise_K, at_C: m.model.at_C, text: [`Out less in  ${m.offset_K.toFixed(4)} K at ${m.model.at_C.toFixed(2)} C`] };
  }

  protected prompt(): Prompt {
    const again = { word: 'again', says: 'read it anew' };
    if (this.#models === null) {
      return { id: 'sensors', asks: 'text', says: 'Which thermistors are both? Resistance at 25 C and B (25/50) of the data sheet.', example: '10k 3950', words: [discard] };
    }
    if (this.#matched !== null) return { id: 'result', asks: 'choice', says: 'Keep this match?', example: 'keep', words: [{ word: 'keep', says: 'from when the bath was read on' }, again, discard] };
    return { id: 'bath', asks: 'reading', says: `Put both coolant sensors into one bath, deep and close together, engine cold, and stir. They are read for ${SPAN_s} s of steady bath.`, example: null, words: [again, discard] };
  }

  #tell(word: string): void {
    const match = /^(\d+(?:[.,]\d+)?)\s*(k)?(?:ohm)?\s+(?:B\s*)?(\d{4}(?:[.,]\d+)?)$/i.exec(word.trim());
    if (match === null) this.refuse(word, 'give resistance at 25 C and B, such as 10k 3950');
    const [, ohm = '', kilo, B = ''] = match;
    const R25_ohm = Number(ohm.replace(',', '.')) * (kilo === undefined ? 1 : 1000);
    const { sheet, rig, type } = this.#context;
    const divider = { fixed_ohm: sheet.thermistor_fixed_ohm, fixed_to: FIXED_TO };
    const model = (which: string): ThermistorModel => betaModel({ R25_ohm, beta_K: Number(B.replace(',', '.')), beta_to_C: 50 }, divider, sheet, { sensor: `${rig}: ${which} 1`, type });
    this.#models = { in: model('coolant in'), out: model('coolant out') };
    this.#told = word.trim();
  }

  #outcomeOf({ model, offset_K, u_noise_K, drift_K_per_min }: Matched): Outcome {
    const [first, last] = [this.#rows[0], this.#rows.at(-1)];
    const from = { boot_id: this.boot_id, tick: first?.tick ?? 0 };
    const data = { how: 'guided', sensors: this.#told, offset_K, u_noise_K, drift_K_per_min, span: [first?.tick, last?.tick], rows: this.#rows };
    const parts = this.#told === null || this.#models === null ? [] : ([['coolant_in', this.#models.in], ['coolant_out', this.#models.out]] as const);
    return {
      calibrations: [
        ...parts.map(([channel, part]) => ({ channel, from, model: part, data: { how: 'guided', sensors: this.#told }, remark: 'by the data sheet, told for the match' })),
        { channel: 'coolant_match', from, model, data, remark: this.journal.warnings.join(' ') },
      ],
      zeros: [],
      check: null,
    };
  }

  get #span_s(): number {
    return this.#seconds((this.#rows.at(-1)?.tick ?? 0) - (this.#rows[0]?.tick ?? 0));
  }

  #seconds(ticks: number): number {
    return (ticks * this.us_per_tick) / 1e6;
  }
}

/** As hardware-notes/coolant.md wires it. */
const FIXED_TO = 'supply' as const;

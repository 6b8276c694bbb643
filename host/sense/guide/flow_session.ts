import { fail, SmallbrakeError } from '../../errors.js';
import type { DatedMessage } from '../../link/dated.js';
import type { FlowModel } from '../calibration/model.js';
import { BUCKET_HAND_s, bucketModel, pulseModel } from '../thermal/flow_model.js';
import type { BucketRun } from '../thermal/flow_model.js';
import type { Live, Prompt } from './frame.js';
import { discard, undo } from './load_terms.js';
import { Session } from './session.js';

interface Pulses {
  /** Since the session began, wraps added. */
  readonly n: number;
  readonly pulse_tick: number;
}

/** A kitchen balance that was never checked (common practice, no source). */
const BALANCE_SHARE = 0.005;
const NUMBER = '(\\d+(?:[.,]\\d+)?)';
const numberOf = (text: string | undefined): number => Number((text ?? '').replace(',', '.'));

/** Coolant caught in a bucket against the watch, again and again; with a pulse meter, its curve. */
export class FlowSession extends Session {
  readonly act = 'flow';
  readonly #rig: string;
  #setting: { readonly step_g: number; readonly t_C: number } | null = null;
  #runs: (BucketRun & { readonly tick: number })[] = [];
  #phase: 'ready' | 'running' | 'weigh' | 'result' = 'ready';
  #tick = 0;
  #pulses: Pulses | null = null;
  #raw: number | null = null;
  #start: { readonly tick: number; readonly pulses: Pulses | null } | null = null;
  #caught: { readonly seconds: number; readonly pulses: number | null } | null = null;
  #model: FlowModel | null = null;

  /** @param rig such as `rig 3` */
  constructor(rig: string, answers: { readonly balance?: string }) {
    super();
    this.#rig = rig;
    if (answers.balance !== undefined) this.#set(answers.balance);
  }

  protected arrived(_arrival: unknown, reset: boolean): void {
    if (reset) this.#forget('The board was reset: a bucket that was being filled counts no more.');
  }

  protected left(): void {
    this.#pulses = null;
    this.#raw = null;
  }

  protected look({ tick, message: m }: DatedMessage): void {
    this.#tick = Math.max(this.#tick, tick);
    if (m.name !== 'flow') return;
    const more = this.#raw === null ? 0 : (m.pulses - this.#raw) & 0xffff;
    this.#raw = m.pulses;
    if (this.#pulses !== null && more === 0) return;
    this.#pulses = m.pulse_tick === 0 ? null : { n: (this.#pulses?.n ?? 0) + more, pulse_tick: m.pulse_tick };
  }

  protected said(word: string): void {
    if (this.#setting === null) this.#set(word);
    else if (this.#phase === 'ready') this.#atReady(word);
    else if (this.#phase === 'running') this.#stop(word);
    else if (this.#phase === 'weigh') this.#weighed(word);
    else this.#atResult(word);
    this.next();
  }

  protected override points(): readonly unknown[] {
    return this.#runs;
  }

  protected override preview(): unknown {
    if (this.#phase !== 'result' || this.#model === null) return null;
    const model = this.#model;
    const flows = this.#runs.map(flow_Lpmin);
    const rows = this.#runs.map((r, i) => `  ${String(i + 1).padStart(2)}  ${r.grams} g in ${r.seconds.toFixed(2)} s = ${(flows[i] ?? 0).toFixed(4)} L/min${this.#beside(r, flows[i] ?? 0, model)}`);
    const mean_Lpmin = flows.reduce((s, q) => s + q, 0) / flows.length;
    const spread_Lpmin = Math.max(...flows) - Math.min(...flows);
    const says = model.kind === 'pulses'
      ? `curve: L/min = ${model.coefficients.map((c, k) => `${c.toPrecision(5)}${['', ' f', ' f^2'][k] ?? ''}`).join(' + ')}, f in pulses a second`
      : `mean ${mean_Lpmin.toFixed(4)} L/min, spread ${spread_Lpmin.toFixed(4)} L/min (${((100 * spread_Lpmin) / mean_Lpmin).toFixed(2)} %)`;
    return { model, mean_Lpmin, spread_Lpmin, text: [...rows, says] };
  }

  /** With a meter: its pulses, and how far the run is off the curve. */
  #beside({ pulses, seconds }: BucketRun, flow: number, model: FlowModel): string {
    if (pulses === null) return '';
    const f = pulses / seconds;
    const curve = model.coefficients.reduce((s, c, k) => s + c * f ** k, 0);
    return `, ${f.toFixed(2)} pulses a second${model.kind === 'pulses' ? `, ${((100 * (flow - curve)) / curve).toFixed(2)} % off the curve` : ''}`;
  }

  protected live(): Live | null {
    if (this.#phase !== 'running' || this.#start === null) return null;
    return { reading: `${this.#seconds(this.#tick - this.#start.tick).toFixed(1)} s`, settled: false, why_not: 'press Enter when the bucket is taken away' };
  }

  protected prompt(): Prompt {
    const choice = (id: string, says: string, example: string, words: Prompt['words']): Prompt => ({ id, asks: 'text', says, example, words: [...words, discard] });
    if (this.#setting === null) return choice('balance', 'To what does your balance show, and how warm is the water?', '1 g, 20 C', []);
    const number = this.#runs.length + 1;
    const done = this.#runs.length === 0 ? [] : [{ word: 'done', says: 'no more buckets: show the result' }, undo];
    switch (this.#phase) {
      case 'ready':
        return choice('bucket', `Bucket ${number}. Answer start when you hold it under the outlet; or, timed by yourself, grams and seconds.${this.#runs.length < 3 ? ' Three buckets or more show the spread.' : ''}`, 'start', [{ word: 'start', says: 'the bucket is under the outlet now' }, ...done]);
      case 'running':
        return { id: 'filling', asks: 'reading', says: 'Filling. Half a minute or more; press Enter at the moment when you take it away.', example: null, words: [{ word: 'take', says: 'or Enter: taken away' }, discard] };
      case 'weigh':
        return choice('weigh', `${(this.#caught?.seconds ?? 0).toFixed(2)} s. Weigh it: how many grams of water?`, '512 g', [undo]);
      case 'result':
        return { id: 'result', asks: 'choice', says: 'Keep this flow?', example: 'keep', words: [{ word: 'keep', says: 'from the first bucket on' }, { word: 'more', says: 'another bucket' }, undo, discard] };
    }
  }

  #set(word: string): void {
    const match = new RegExp(`^${NUMBER}\\s*g(?:[,;\\s]+${NUMBER}\\s*C)?$`).exec(word.trim());
    if (match === null) this.refuse(word, 'give the step of the balance and the temperature, such as 1 g, 20 C');
    this.#setting = { step_g: numberOf(match[1]), t_C: match[2] === undefined ? 20 : numberOf(match[2]) };
  }

  #atReady(word: string): void {
    if (word === 'start' || word === 'take' || word === '') {
      this.#start = { tick: this.#tick, pulses: this.#pulses };
      this.#phase = 'running';
    } else if (word === 'done') this.#result();
    else if (word === 'undo') {
      if (this.#runs.pop() === undefined) throw fail('GUIDE_REFUSED', { why: 'no bucket was filled yet' });
    } else {
      const match = new RegExp(`^${NUMBER}\\s*g[,;\\s]+${NUMBER}\\s*s$`).exec(word);
      if (match === null) this.refuse(word, 'answer start, or grams and seconds such as 512 g 60 s');
      this.#add(numberOf(match[1]), numberOf(match[2]), null);
    }
  }

  #stop(word: string): void {
    if (!['', 'take', 'stop'].includes(word)) this.refuse(word, 'press Enter, or answer take or discard');
    const { tick, pulses } = this.#start ?? { tick: this.#tick, pulses: null };
    const seconds = this.#seconds(this.#tick - tick);
    if (seconds < 1) throw fail('GUIDE_REFUSED', { why: `${seconds.toFixed(1)} s are too short for a bucket` });
    // Whole pulses over the time that they took: what lies before the first and after the last is not rounded away.
    const now = this.#pulses;
    const ticks = now === null || pulses === null ? 0 : (now.pulse_tick - pulses.pulse_tick) >>> 0;
    const timed = now !== null && pulses !== null && ticks > 0 ? ((now.n - pulses.n) / this.#seconds(ticks)) * seconds : null;
    this.#caught = { seconds, pulses: timed };
    this.#phase = 'weigh';
  }

  #weighed(word: string): void {
    if (word === 'undo') {
      this.#forget('That bucket counts no more.');
      return;
    }
    const match = new RegExp(`^${NUMBER}\\s*g?$`).exec(word);
    if (match === null) this.refuse(word, 'give the grams, such as 512 g');
    this.#add(numberOf(match[1]), this.#caught?.seconds ?? NaN, this.#caught?.pulses ?? null);
    this.#phase = 'ready';
  }

  #add(grams: number, seconds: number, pulses: number | null): void {
    if (!(grams > 0) || !(seconds > 0)) throw fail('GUIDE_REFUSED', { why: 'grams and seconds are above 0' });
    const run = { grams, seconds, pulses, t_C: this.#setting?.t_C ?? 20, tick: this.#tick };
    this.#runs.push(run);
    this.journal.say('taken', `Bucket ${this.#runs.length}: ${grams} g in ${seconds.toFixed(2)} s, ${flow_Lpmin(run).toFixed(4)} L/min${pulses === null ? '' : `, ${(pulses / seconds).toFixed(2)} pulses a second`}.`);
  }

  #result(): void {
    const step_g = this.#setting?.step_g ?? 1;
    // Full less empty: two readings, each within half a step.
    const means = { u_scale_share: BALANCE_SHARE / Math.sqrt(3), u_grams: step_g / Math.sqrt(6), u_seconds: BUCKET_HAND_s, density_kg_m3: null, id: `cal: flow ${this.#rig}, boot ${this.boot_id}, tick ${this.#runs[0]?.tick ?? 0}` };
    try {
      this.#model = this.#runs.length > 0 && this.#runs.every((r) => (r.pulses ?? 0) > 0) ? pulseModel(this.#runs, means) : bucketModel(this.#runs, means);
    } catch (thrown) {
      if (thrown instanceof SmallbrakeError) throw fail('GUIDE_REFUSED', { why: thrown.message.replace(/\.$/, '') });
      throw thrown;
    }
    this.#phase = 'result';
  }

  #atResult(word: string): void {
    if (word === 'more' || word === 'undo') {
      if (word === 'undo') this.#runs.pop();
      this.#phase = 'ready';
    } else if (word !== 'keep') this.refuse(word, 'answer keep, more, undo or discard');
    else if (this.#model !== null) {
      const from = { boot_id: this.boot_id, tick: this.#runs[0]?.tick ?? this.#tick };
      this.outcome = { calibrations: [{ channel: 'flow', from, model: this.#model, data: { how: 'guided', setting: this.#setting, runs: this.#runs }, remark: this.journal.warnings.join(' ') }], zeros: [], check: null };
    }
  }

  #forget(says: string): void {
    if (this.#phase === 'running' || this.#phase === 'weigh') {
      this.journal.say('warning', says);
      this.#phase = 'ready';
    }
    this.#start = this.#caught = null;
  }

  #seconds(ticks: number): number {
    return (ticks * this.us_per_tick) / 1e6;
  }
}

/** For the eye, with water of 998.2 kg/m3 (20 C); the model has its density and buoyancy at its temperature. */
const flow_Lpmin = ({ grams, seconds }: BucketRun): number => (grams / 998.2 / seconds) * 60;

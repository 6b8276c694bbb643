import type { DatedPulse } from '../link/pulse_date.js';

/**
 * As for the shaft: slowing while the next pulse is overdue, stopped when it has been for
 * so long that none is coming. untimed: a pulse came, but none to time it from.
 * not_measured: no pulse ever came.
 */
export type FlowState = 'flowing' | 'slowing' | 'stopped' | 'untimed' | 'not_measured';

export interface FlowReading {
  readonly state: FlowState;
  /** null: not measured. 0: the pulses have stopped, which is no proof that the flow has. */
  readonly pulse_rate_Hz: number | null;
  readonly pulse_age_s: number | null;
}

/** Without a pulse for this long, and for three times as long as one took, they have stopped. */
const STOPPED_s = 5;
const STOPPED_PERIODS = 3;
/** The same where no rate is known, since only one pulse was seen. */
const STOPPED_UNTIMED_s = 30;
/** What lies a minute before a pulse says nothing of the rate now. */
const SPAN_MAX_s = 60;
/** A line written so long before a pulse cannot have counted it: 10 ms. */
const BEFORE_ticks = 20_000;

interface First extends DatedPulse {
  /** Of the first message that said so. */
  readonly tick: number;
}

/**
 * Rate of the flow meter's pulses by reciprocal timing: pulses over time, from the last
 * pulse that was known before the latest one to the latest. Between pulses it decays: no
 * pulse for t means less than 1 / t. The view `flow` says the same of stored rows. Pure:
 * ticks in, readings out.
 */
export class FlowRate {
  #us_per_tick: number;
  /** The first message of each count, from the one that the rate begins at; the last is the newest count. */
  #firsts: First[] = [];
  #rate: { readonly pulses: number; readonly ticks: number } | null = null;

  constructor(us_per_tick: number) {
    this.#us_per_tick = us_per_tick;
  }

  /** The board's clock as it is known now. */
  set us_per_tick(value: number) {
    this.#us_per_tick = value;
  }

  /** What was said last, to add the wraps to the next. */
  get last(): DatedPulse | undefined {
    return this.#firsts.at(-1);
  }

  message(tick: number, { pulse_tick, pulses }: DatedPulse): void {
    if (this.last?.pulses === pulses) return;
    const base = pulse_tick === null ? -1 : this.#firsts.findLastIndex((f) => f.tick < pulse_tick - BEFORE_ticks);
    const from = this.#firsts[base];
    this.#rate =
      from === undefined || from.pulse_tick === null || pulse_tick === null ? null : { pulses: pulses - from.pulses, ticks: pulse_tick - from.pulse_tick };
    this.#firsts = [...this.#firsts.slice(Math.max(0, base)), { tick, pulse_tick, pulses }];
  }

  /** @param tick_now board time for which the rate is asked */
  at(tick_now: number): FlowReading {
    const pulse_tick = this.last?.pulse_tick ?? null;
    if (pulse_tick === null) return { state: 'not_measured', pulse_rate_Hz: null, pulse_age_s: null };
    const pulse_age_s = (Math.max(0, tick_now - pulse_tick) * this.#us_per_tick) / 1e6;
    const rate_Hz = this.#timed_Hz();
    if (rate_Hz === null) {
      const stopped = pulse_age_s > STOPPED_UNTIMED_s;
      return { state: stopped ? 'stopped' : 'untimed', pulse_rate_Hz: stopped ? 0 : null, pulse_age_s };
    }
    if (pulse_age_s > Math.max(STOPPED_s, STOPPED_PERIODS / rate_Hz)) return { state: 'stopped', pulse_rate_Hz: 0, pulse_age_s };
    const slowing = pulse_age_s * rate_Hz > 1;
    return { state: slowing ? 'slowing' : 'flowing', pulse_rate_Hz: slowing ? 1 / pulse_age_s : rate_Hz, pulse_age_s };
  }

  #timed_Hz(): number | null {
    if (this.#rate === null) return null;
    const span_s = (this.#rate.ticks * this.#us_per_tick) / 1e6;
    return span_s > 0 && span_s <= SPAN_MAX_s ? this.#rate.pulses / span_s : null;
  }
}

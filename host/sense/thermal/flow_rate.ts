import { coefficientQuantities, errorQuantity } from '../calibration/model.js';
import type { FlowModel } from '../calibration/model.js';
import type { FlowReading, FlowState } from '../flow.js';
import { also, combine, exact } from '../uncertainty/quantity.js';
import type { Quantity } from '../uncertainty/quantity.js';
import { noiseOfMean } from './water_temperature.js';

/** below: slower than the meter was ever tried, where it under-reads or stands. beyond: faster than it was tried. fixed: by the bucket, not seen now. */
export type FlowQuantityState = FlowState | 'below' | 'beyond' | 'fixed' | 'none';

export interface FlowQuantity {
  readonly state: FlowQuantityState;
  /** L/min, mean over the span; null with a reason. */
  readonly quantity: Quantity | null;
  readonly reason: string | null;
}

const NO_PROOF = 'no pulse, which is no proof of no flow: below its least flow the meter stands';

/**
 * Coolant flow over a span of readings of the pulse rate, oldest first; by the bucket alone they are not asked.
 * @param span `boot 5, tick 81233`
 */
export function flowQuantity(readings: readonly FlowReading[], model: FlowModel, span: string): FlowQuantity {
  const c = coefficientQuantities(model, 'L/min');
  if (model.kind === 'fixed') return { state: 'fixed', quantity: withErrors(c[0] ?? exact(Number.NaN, 'L/min'), model, span), reason: null };
  const last = readings.at(-1);
  if (last === undefined) return { state: 'none', quantity: null, reason: 'no message of the flow meter came' };
  if (last.state !== 'flowing') return { state: last.state, quantity: null, reason: saysOf(last) };
  const rates_Hz = readings.flatMap((r) => (r.state === 'flowing' && r.pulse_rate_Hz !== null ? [r.pulse_rate_Hz] : []));
  const noise = noiseOfMean(rates_Hz, 0, `${span}: flow pulses`, 'scatter of the pulse rate');
  const f = rates_Hz.reduce((a, b) => a + b, 0) / rates_Hz.length;
  const [from_Hz, to_Hz] = model.f_range_Hz ?? [0, Infinity];
  if (f < from_Hz * (1 - BEYOND_SHARE)) return { state: 'below', quantity: null, reason: `${f.toFixed(2)} pulses a second, and the meter was tried from ${from_Hz.toFixed(2)}: calibrate it at this flow` };
  const slope = c.slice(1).reduce((s, q, i) => s + (i + 1) * q.value * f ** i, 0);
  const flow = combine(c.reduce((s, q, k) => s + q.value * f ** k, 0), 'L/min', [...c.map((q, k) => [q, f ** k] as const), [noise, slope]]);
  const beyond = f > to_Hz * (1 + BEYOND_SHARE);
  return { state: beyond ? 'beyond' : 'flowing', quantity: withErrors(flow, model, span), reason: beyond ? `${f.toFixed(2)} pulses a second, and the meter was tried up to ${to_Hz.toFixed(2)}: calibrate it at this flow` : null };
}
/** A share of the range beyond its ends that is still the range. */
export const BEYOND_SHARE = 0.1;

function withErrors(flow: Quantity, model: FlowModel, span: string): Quantity {
  return also(flow, ...model.errors.map((term) => {
    const drawn = term.source.kind === 'random' ? { ...term, source: { ...term.source, id: `${span}: ${term.source.id}` } } : term;
    return errorQuantity(drawn, term.per === 'value' ? flow.value : 1, 'L/min');
  }));
}

function saysOf({ state, pulse_age_s }: FlowReading): string {
  if (state === 'not_measured') return 'no pulse ever came: not measured';
  if (state === 'untimed') return 'one pulse came, and none to time it from';
  return `${NO_PROOF} (the last came ${(pulse_age_s ?? 0).toFixed(1)} s ago)`;
}

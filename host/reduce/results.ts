import { told } from '../sense/uncertainty/budget.js';
import { combine } from '../sense/uncertainty/quantity.js';
import type { Quantity } from '../sense/uncertainty/quantity.js';
import type { ResultDraft } from '../store/records/results.js';
import { valueNames } from './values/value.js';
import type { Value, ValueName } from './values/value.js';
import type { Values } from './values/span_values.js';

/**
 * Results of a run from the values of its spans: means by duration, so that what the spans share stays shared. What is not
 * measured in one span is not measured in the run.
 */
export function resultsOf(run_id: number, spans: readonly Values[], version: string): ResultDraft[] {
  const together = <T>(pick: (v: Values) => readonly T[]): T[] => [...new Set(spans.flatMap(pick))];
  const cites = {
    cal_ids: together((v) => v.cites.cal_ids),
    zero_ids: together((v) => v.cites.zero_ids),
    check_ids: together((v) => v.cites.check_ids),
    entered_ids: together((v) => v.cites.entered_ids),
  };
  return valueNames.flatMap((name): ResultDraft[] => {
    const values = spans.map((v) => v[name]);
    // What nothing was ever said of is no result.
    if (values.every((v) => v.state === 'not_measured' && v.quantity === null) && !CORE.has(name)) return [];
    const whole = meanOf(spans, values);
    const missing = values.find((v) => v.quantity === null);
    const lacks = [...new Set(values.flatMap((v) => v.reason ?? []))].join('; ');
    const rest = { run_id, name, unit: unitOf(name), verified: whole !== null && lacks === '', ...cites, version };
    if (whole === null) return [{ ...rest, value: null, u: null, dof: null, expanded: null, reason: missing?.reason ?? 'the run has no span', why: missing?.reason ?? 'the run has no span', budget: [] }];
    const { value, u, dof, U95, budget } = told(whole);
    return [{ ...rest, value, u, dof: dof !== null && dof > 0 ? dof : null, expanded: U95, reason: null, why: lacks === '' ? null : lacks, budget }];
  });
}

/** Always told, if only as not measured. */
const CORE: ReadonlySet<ValueName> = new Set(['torque_Nm', 'speed_rpm', 'power_W']);

const unitOf = (name: ValueName): string => name.slice(name.lastIndexOf('_') + 1);

function meanOf(spans: readonly Values[], values: readonly Value[]): Quantity | null {
  const total_s = spans.reduce((s, v) => s + v.duration_s, 0);
  if (total_s === 0) return null;
  const terms: (readonly [Quantity, number])[] = [];
  for (const [i, { quantity }] of values.entries()) {
    if (quantity === null) return null;
    terms.push([quantity, (spans[i]?.duration_s ?? 0) / total_s]);
  }
  const [first] = terms;
  if (first === undefined) return null;
  return combine(terms.reduce((s, [q, w]) => s + w * q.value, 0), first[0].unit, terms);
}

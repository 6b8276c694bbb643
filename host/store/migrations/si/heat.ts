import { A0_mV, A1_per_K2, A2_C, ABOVE_0, BELOW_0, TYPE_K_INVERSE, TYPE_K_INVERSE_LEAST_C, TYPE_K_MOST_C, TYPE_K_TOLERANCE, typeK_mV } from '../../../sense/physics/type_k.js';
import { BEYOND_SHARE } from '../../../sense/thermal/flow_rate.js';
import { inForceSql } from '../../records/in_force.js';

/** c[0] + c[1] x + ... of a column x, by Horner's rule. */
const polynomial = (c: readonly number[], x: string): string => c.reduceRight((above, c_i) => (above === '' ? real(c_i) : `(${above} * ${x} + ${real(c_i)})`), '');
const derivative = (c: readonly number[], x: string): string => polynomial(c.map((c_i, i) => i * c_i).slice(1), x);
/** A number that SQL takes as REAL: 2.0, not 2. */
const real = (n: number): string => (Number.isInteger(n) ? `${n}.0` : String(n));

const bell = (x: string): string => `exp(${A1_per_K2} * (${x} - ${A2_C}) * (${x} - ${A2_C}))`;
/** Reference function and its slope, in mV and mV/K, of a column in C. cold: which branch. */
const emf = (x: string, cold: string): string => `CASE WHEN ${cold} THEN ${polynomial(BELOW_0, x)} ELSE ${polynomial(ABOVE_0, x)} + ${A0_mV} * ${bell(x)} END`;
const slope = (x: string, cold: string): string =>
  `CASE WHEN ${cold} THEN ${derivative(BELOW_0, x)} ELSE ${derivative(ABOVE_0, x)} + ${2 * A0_mV * A1_per_K2} * (${x} - ${A2_C}) * ${bell(x)} END`;
const start = (e: string): string => {
  const [cold, middle, hot] = TYPE_K_INVERSE.map(({ d }) => polynomial(d, e));
  return `CASE WHEN ${e} <= 0 THEN ${cold} WHEN ${e} <= ${TYPE_K_INVERSE[1]?.to_mV} THEN ${middle} ELSE ${hot} END`;
};
const newton = (x: string): string => `${x} - ((${emf(x, 'e <= 0')}) - e) / (${slope(x, 'e <= 0')})`;

/** What SQLite does not flatten into the query around it: else each step would be written out, and worked out, as often as it is named. */
const ONCE = 'LIMIT 1 OFFSET 0';

/** Each step is a subquery of its own. NULL beyond what a couple of that class can tell. */
const hotEnd_C = `(
  SELECT CASE WHEN t2 BETWEEN ${TYPE_K_TOLERANCE[1].from_C} AND CASE k.iec60584_class WHEN 1 THEN ${TYPE_K_TOLERANCE[1].to_C} ELSE ${TYPE_K_TOLERANCE[2].to_C} END
    THEN t2 + coalesce(k.c0, 0) + coalesce(k.c1, 0) * t2 END
  FROM (SELECT e, ${newton('t1')} AS t2
  FROM (SELECT e, ${newton('t0')} AS t1
  FROM (SELECT e, ${start('e')} AS t0
  FROM (SELECT k.slope_mV_K * (h.converter_C - h.junction_C) + ${emf('h.junction_C', 'h.junction_C <= 0')} AS e
  ${ONCE}) ${ONCE}) ${ONCE}) ${ONCE}) WHERE e BETWEEN ${typeK_mV(TYPE_K_INVERSE_LEAST_C)} AND ${typeK_mV(TYPE_K_MOST_C)})`;

export const hotEnd = `
CREATE VIEW hot_end AS
-- True temperature of the hot end by ITS-90: the converter's fixed slope undone, its junction added in mV, the reference function
-- inverted, then the correction of the calibration, if it has one. hot_end_C is NULL with a reason: a fault as in the view hot,
-- no_calibration (the class of the couple is not known), or out_of_range (of the couple or its class).
SELECT h.utc_us, h.t, h.boot_id, h.tick, ${hotEnd_C} AS hot_end_C, h.junction_C, k.cal_id,
  CASE WHEN h.fault IS NOT NULL THEN h.fault WHEN k.cal_id IS NULL THEN 'no_calibration' WHEN ${hotEnd_C} IS NULL THEN 'out_of_range' END AS reason, h.simulated
FROM hot h JOIN boot b ON b.boot_id = h.boot_id
LEFT JOIN calibration k ON k.cal_id = ${inForceSql('b.rig_id', 'hot', 'h.boot_id', 'h.tick')};`;

const inputs = [
  { of: 'in', channel: 'coolant_in', k: 'ki' },
  { of: 'out', channel: 'coolant_out', k: 'ko' },
  { of: 'skin', channel: 'skin', k: 'ks' },
] as const;

/** 1/T = c0 + c1 L + c2 L^2 + c3 L^3, L = ln R, by the divider; NULL outside the range of the curve. */
const thermistor = (of: string, k: string): string => `(
    SELECT CASE WHEN t BETWEEN ${k}.range_least AND ${k}.range_most THEN t END FROM (SELECT 1 / (((${k}.c3 * L + ${k}.c2) * L + ${k}.c1) * L + ${k}.c0) - 273.15 AS t
    FROM (SELECT ln(CASE ${k}.fixed_to WHEN 'supply' THEN ${k}.fixed_ohm * w.${of}_ratio / (1 - w.${of}_ratio) ELSE ${k}.fixed_ohm * (1 - w.${of}_ratio) / w.${of}_ratio END) AS L ${ONCE}) ${ONCE}))`;
const whyNot = (of: string, k: string): string =>
  `CASE WHEN w.${of}_fault IS NOT NULL THEN w.${of}_fault WHEN ${k}.cal_id IS NULL THEN 'no_calibration' WHEN ${thermistor(of, k)} IS NULL THEN 'out_of_range' END`;

export const coolant = `
CREATE VIEW coolant AS
-- Coolant in and out and the spare thermistor, through their curves. difference_K: out less in, less what the two read apart in one
-- bath (match_id; NULL: never matched, nothing is taken off). What is NULL has its reason: low_end or high_end as in the view water,
-- no_calibration, or out_of_range (of the curve).
SELECT w.utc_us, w.t, w.boot_id, w.tick,
  ${inputs.map(({ of, k }) => `${thermistor(of, k)} AS ${of}_C`).join(',\n  ')},
  ${thermistor('out', 'ko')} - ${thermistor('in', 'ki')} - coalesce(km.c0, 0) AS difference_K,
  ${inputs.map(({ of, k }) => `${whyNot(of, k)} AS ${of}_reason`).join(',\n  ')},
  ${inputs.map(({ of, k }) => `${k}.cal_id AS ${of}_cal_id`).join(', ')}, km.cal_id AS match_id, w.simulated
FROM water w JOIN boot b ON b.boot_id = w.boot_id
${[...inputs, { channel: 'coolant_match', k: 'km' }].map(({ channel, k }) => `LEFT JOIN calibration ${k} ON ${k}.cal_id = ${inForceSql('b.rig_id', channel, 'w.boot_id', 'w.tick')}`).join('\n')};`;

/** An overdue pulse makes the rate of the view flow exactly 1 over its age. */
const flowWhyNot = `CASE WHEN k.cal_id IS NULL THEN 'no_calibration' WHEN k.kind = 'fixed' THEN NULL WHEN f.pulse_rate_Hz IS NULL THEN 'no_pulses'
    WHEN f.pulse_rate_Hz = 0 THEN 'stopped' WHEN f.pulse_rate_Hz * f.pulse_age_s > 0.999999999 THEN 'slowing' WHEN f.pulse_rate_Hz < ${1 - BEYOND_SHARE} * k.range_least THEN 'below' END`;

export const coolantFlow = `
CREATE VIEW coolant_flow AS
-- Coolant flow: pulses through the curve of the meter (kind pulses), or what bucket and stopwatch gave (kind fixed). flow_Lpmin is NULL
-- with a reason: no_calibration, no_pulses (none yet, or none to time), slowing or stopped (the next pulse is overdue, which is no
-- proof that the flow has stopped), or below (slower than the meter was tried by more than a tenth). extrapolated: 1 beyond the
-- rates that were tried.
SELECT f.utc_us, f.t, f.boot_id, f.tick,
  CASE WHEN k.kind = 'fixed' THEN k.c0 WHEN ${flowWhyNot} IS NULL THEN k.c0 + (coalesce(k.c1, 0) + coalesce(k.c2, 0) * f.pulse_rate_Hz) * f.pulse_rate_Hz END AS flow_Lpmin,
  f.pulse_rate_Hz, k.kind, k.cal_id, k.kind = 'pulses' AND (f.pulse_rate_Hz < k.range_least OR f.pulse_rate_Hz > k.range_most) AS extrapolated,
  ${flowWhyNot} AS reason, f.simulated
FROM flow f JOIN boot b ON b.boot_id = f.boot_id
LEFT JOIN calibration k ON k.cal_id = ${inForceSql('b.rig_id', 'flow', 'f.boot_id', 'f.tick')};`;

import { inputReading } from '../../sense/water.js';
import type { Sheet } from '../../sense/sheet.js';
import { propagate } from '../../sense/uncertainty/propagate.js';
import { combine, estimated, product, ratio, within } from '../../sense/uncertainty/quantity.js';
import type { Quantity } from '../../sense/uncertainty/quantity.js';
import { meanPressure } from '../heat/against_ideal.js';
import { KELVIN } from '../heat/balance.js';
import { swingByHand_Pa } from '../ideal/by_hand.js';
import type { Engine } from '../ideal/geometry.js';
import type { Knowledge, Span } from '../span.js';
import { spanValues } from '../values/span_values.js';
import type { Values } from '../values/span_values.js';
import { measured, notMeasured, workedOut } from '../values/value.js';
import type { Value } from '../values/value.js';
import { strokesOf } from './strokes.js';

/** A trial without a shaft: the displacer moved by hand, heat on. */
export interface Trial {
  readonly boot_id: number;
  readonly simulated: boolean;
  readonly strokes: number;
  /** Peak to peak. */
  readonly swing_Pa: Value;
  readonly rate_per_min: Value;
  /** What the ideal cycle gives between the measured temperatures, and the share of it that was reached. */
  readonly ideal_swing_Pa: Value;
  readonly ideal_share: Value;
  /** Temperatures and heat over the same time. */
  readonly values: Values;
  readonly readings: readonly { readonly t_s: number; readonly kPa: number }[];
  readonly warnings: readonly string[];
}

/** Fewer readings a stroke than this miss too much of its top. */
const READINGS_least = 6;

/** Needs no edges. @param engine null: nothing to hold it against. @throws OUT_OF_RANGE for an engine without a displacer. Pure. */
export function trialOf(span: Span, knowledge: Knowledge, engine: Engine | null): Trial {
  const values = spanValues(span, knowledge);
  const kPa_per_share = slopeOf(knowledge.sheet);
  const shares = readingsOf(span);
  const found = strokesOf(shares);
  const id = `boot ${span.boot_id}, tick ${span.tick_from}`;
  const none = typeof found === 'string' ? notMeasured(found) : null;
  const strokes = typeof found === 'string' ? null : found;
  const swing_Pa = strokes === null ? (none as Value) : measured(swingOf(strokes, kPa_per_share, knowledge.sheet, id));
  const rate = strokes === null ? (none as Value) : measured(combine(60 / strokes.stroke_s, '1/min', [[estimated(strokes.stroke_s, 's', Math.max(strokes.u_stroke_s, strokes.apart_s / (Math.sqrt(6) * strokes.n)), strokes.n, { id: `${id}: strokes`, says: 'scatter of the strokes', kind: 'random' }), -60 / strokes.stroke_s ** 2]]));
  const kelvin = (v: Value): Value => workedOut([v], (q) => combine(q.value + KELVIN, 'K', [[q, 1]]));
  const cold_C = workedOut([values.coolant_in_C, values.coolant_out_C], (a, b) => combine((a.value + b.value) / 2, 'C', [[a, 0.5], [b, 0.5]]));
  const ideal = engine === null ? notMeasured('no geometry is known: name its file with --geometry') : workedOut([kelvin(values.hot_C), kelvin(cold_C), meanPressure(engine, knowledge.entered)], (h, c, p) => propagate((hot, cold, Pa) => swingByHand_Pa(engine.geometry, hot, cold, Pa), [h, c, p], 'Pa'));
  const share = workedOut([swing_Pa, ideal], (a, b) => ratio(a, b, ''));
  const a_stroke = strokes === null ? Infinity : strokes.stroke_s / strokes.apart_s;
  return {
    boot_id: span.boot_id, simulated: span.simulated, strokes: strokes?.n ?? 0, swing_Pa, rate_per_min: rate, ideal_swing_Pa: ideal, ideal_share: share, values,
    readings: shares.map(({ t_s, x }) => ({ t_s, kPa: x * kPa_per_share.value })),
    warnings: [
      ...(a_stroke < READINGS_least ? [`${a_stroke.toFixed(1)} readings a stroke are few: move more slowly, or set water_period_ms shorter`] : []),
      ...((share.quantity?.value ?? 0) > 1 ? ['more swing than the ideal cycle of these volumes gives: see to the volumes, the temperatures and the sensor'] : []),
    ],
  };
}

function readingsOf({ water, tick_from, tick_to, us_per_tick }: Span): { readonly t_s: number; readonly x: number }[] {
  const readings: { t_s: number; x: number }[] = [];
  for (let i = 0; i < water.n; i++) {
    const tick = water.tick[i] as number;
    if (tick < tick_from || tick > tick_to) continue;
    const { ratio: x } = inputReading(water.spare_sum[i] as number, water.spare_spread[i] as number);
    if (x !== null) readings.push({ t_s: ((tick - tick_from) * us_per_tick) / 1e6, x });
  }
  return readings;
}

/** Sensor and converter share the supply, so only the share of it counts. */
const slopeOf = ({ supply_V, pressure_mV_per_kPa, pressure_slope_share }: Sheet): Quantity => {
  const value = (1000 * supply_V) / pressure_mV_per_kPa;
  return within(value, 'kPa', pressure_slope_share * value, { id: 'sheet: pressure sensor', says: 'slope of the pressure sensor', kind: 'systematic', cure: 'calibrate it against a column of water' });
};

/** A reading misses the top of a stroke by up to 1 - cos(pi dt / T) of half the swing; on the mean by a third of that, for a small part of a stroke. */
function swingOf({ n, swing, u_swing, stroke_s, apart_s }: Exclude<ReturnType<typeof strokesOf>, string>, slope: Quantity, sheet: Sheet, id: string): Quantity {
  const most = 1 - Math.cos((Math.PI * Math.min(apart_s, stroke_s / 2)) / stroke_s);
  const steps = within(0, '', (Math.SQRT2 * sheet.adc_nonlinearity_LSB) / 1024, { id: 'sheet: converter on the spare input', says: 'steps of the converter', kind: 'systematic' });
  const seen = estimated(swing * (1 + most / 3), '', u_swing, 2 * n - 1, { id: `${id}: strokes`, says: 'scatter of the strokes', kind: 'random', cure: 'move the displacer more evenly, and more often' });
  const missed = within(0, '', (swing * most) / 3, { id: `${id}: tops`, says: 'tops between two readings', kind: 'systematic', cure: 'move more slowly' });
  const share = combine(seen.value, '', [[seen, 1], [missed, 1], [steps, 1]]);
  const kPa = product(share, slope, 'kPa');
  return combine(1000 * kPa.value, 'Pa', [[kPa, 1000]]);
}

import { stored } from '../calibration/model.js';
import type { ThermistorModel } from '../calibration/model.js';
import type { Divider } from '../physics/divider.js';
import { betaThrough, curveOfBeta, curveOfTable, curveThroughThree, thermistor_ohm } from '../physics/thermistor.js';
import type { ThermistorPoint } from '../physics/thermistor.js';
import { positive } from '../physics/within.js';
import type { Sheet } from '../sheet.js';
import { systematic } from './ids.js';
import { fixedResistorRow, limitRow, partRows } from './thermistor_sources.js';
import type { Cubic } from './thermistor_sources.js';

export interface ThermistorIds {
  /** `rig 3: coolant in 1`: this very sensor with its fixed resistor. */
  readonly sensor: string;
  /** `thermistor 103 3950`: what sensors of one type share, such as a curve that is not quite theirs. */
  readonly type: string;
}

/** One of three points of Steinhart and Hart, as measured. */
export interface MeasuredPoint extends ThermistorPoint {
  readonly u_t_K: number;
  readonly u_R_ohm: number;
}

export interface ThreePoints {
  readonly points: readonly [MeasuredPoint, MeasuredPoint, MeasuredPoint];
  /** What all three temperatures share, such as the thermometer's calibration. */
  readonly u_common_K?: number;
  /**
   * divider: R is from this board's own readings, so an error of the fixed resistor is in the points as in the readings
   * and cancels. meter: R was measured apart. data_sheet: R is that of a good part, and this one may be off it.
   */
  readonly R_by: 'divider' | 'meter' | 'data_sheet';
}

/**
 * Steinhart and Hart's curve has no square of ln R. What it misses for that is q (ln R - ln R1) (ln R - ln R2) (ln R - ln R3)
 * in 1/T, 0 at its points: the published table of the 103 3950 part, taken at 0, 25 and 60 C, shows a q of 6e-7 1/K at 40 C
 * and 7e-7 1/K at 80 C.
 */
const STEINHART_HART_q = 7e-7;
/** How far beyond its points a curve is used. */
const BEYOND_K = 5;

/** (L - L1) (L - L2) (L - L3) by powers of L. */
function cubicOver([L1 = 0, L2 = 0, L3 = 0]: readonly number[]): Cubic {
  return [-L1 * L2 * L3, L1 * L2 + L1 * L3 + L2 * L3, -(L1 + L2 + L3), 1];
}

const tolerance = (sheet: Sheet, R0_ohm: number): { ohm_share: number; beta_share: number; R0_ohm: number } => ({
  ohm_share: sheet.thermistor_ohm_share,
  beta_share: sheet.thermistor_beta_share,
  R0_ohm,
});

/** @throws CURVE_UNFIT, OUT_OF_RANGE */
export function steinhartHartModel({ points, u_common_K = 0, R_by }: ThreePoints, divider: Divider, sheet: Sheet, ids: ThermistorIds): ThermistorModel {
  const c = curveThroughThree(points).a;
  const moved = (k: number, by: Partial<ThermistorPoint>): Cubic =>
    curveThroughThree(points.map((p, i) => (i === k || k === -1 ? { t_C: p.t_C + (by.t_C ?? 0), R_ohm: p.R_ohm * (1 + (by.R_ohm ?? 0)) } : p)) as unknown as ThreePoints['points']).a;
  const row = (id: string, says: string, k: number, by: Partial<ThermistorPoint>, size: number): ThermistorModel['sources'][number] => {
    const up = moved(k, by);
    const down = moved(k, { t_C: -(by.t_C ?? 0), R_ohm: -(by.R_ohm ?? 0) });
    return {
      source: stored({ ...systematic(id, says), shape: 'normal', dof: Infinity }),
      c_u: up.map((x, i) => ((x - (down[i] ?? 0)) / 2) * size),
    };
  };
  // Small steps, so that the slope is that at the points; sizes then scale it.
  const dt = 1e-3;
  const dR = 1e-6;
  const seen = points.flatMap((p, k) => [
    row(`${ids.sensor}: point ${k + 1} temperature`, `temperature of point ${k + 1}`, k, { t_C: dt }, p.u_t_K / dt),
    row(`${ids.sensor}: point ${k + 1} resistance`, `resistance of point ${k + 1}`, k, { R_ohm: dR }, p.u_R_ohm / p.R_ohm / dR),
  ]);
  const t_C = points.map((p) => p.t_C);
  return {
    kind: 'steinhart_hart',
    ...divider,
    coefficients: c,
    sources: [
      ...seen,
      row(`${ids.sensor}: thermometer of the points`, 'the thermometer that the three points share', -1, { t_C: dt }, u_common_K / dt),
      ...(R_by === 'data_sheet' ? partRows(c, tolerance(sheet, thermistor_ohm({ a: c }, 25)), ids.sensor) : []),
      ...(R_by === 'divider' ? [] : [fixedResistorRow(c, sheet.thermistor_fixed_share, ids.sensor)]),
      limitRow(`${ids.type}: Steinhart-Hart`, "Steinhart and Hart's curve between its points", cubicOver(points.map((p) => Math.log(p.R_ohm))).map((x) => STEINHART_HART_q * x), "take the part's R-T table"),
    ].filter(({ c_u }) => c_u.some((x) => x !== 0)),
    range_C: [Math.min(...t_C) - BEYOND_K, Math.max(...t_C) + BEYOND_K],
    errors: [],
  };
}

/**
 * From the R-T table of the part's data sheet; give the span that is used, a cubic does not fit 150 K to the millikelvin.
 * @throws CURVE_UNFIT, OUT_OF_RANGE
 */
export function tableModel(table: readonly ThermistorPoint[], span_C: readonly [from: number, to: number], divider: Divider, sheet: Sheet, ids: ThermistorIds): ThermistorModel {
  const curve = curveOfTable(table, span_C[0], span_C[1]);
  const c = curve.a;
  return {
    kind: 'table',
    ...divider,
    coefficients: c,
    sources: [...partRows(c, tolerance(sheet, thermistor_ohm({ a: c }, 25)), ids.sensor), fixedResistorRow(c, sheet.thermistor_fixed_share, ids.sensor)],
    range_C: [curve.from_C, curve.to_C],
    errors: [
      {
        source: stored({ ...systematic(`${ids.type}: curve`, 'what the curve misses of the R-T table'), shape: 'normal', dof: Infinity }),
        u: curve.residual_sd_K ?? curve.residual_max_K,
        per: 'reading',
      },
    ],
  };
}

export interface BetaPart {
  readonly R25_ohm: number;
  /** The B of the data sheet, and the temperature that it leads to from 25 C: B25/50 or B25/85. */
  readonly beta_K: number;
  readonly beta_to_C: number;
  /** Where the data sheet gives a second one. */
  readonly other?: { readonly beta_K: number; readonly to_C: number };
}

/**
 * B rises with temperature: B25/85 over B25/50 is 1.003 to 1.016 in data sheets (3380 and 3434 K for one common 10 kOhm
 * part, from memory; the published table of the 103 3950 part gives 3946 and 3996 K).
 */
const BETA_85_OVER_50 = 1.015;
/** Below 25 C the same table bends twice as much as its B25/50 and B25/85 tell: B25/0 is 3766 K. */
const COLD_BEND = 2;
const BETA_RANGE_C = [-10, 100] as const;

/**
 * From R at 25 C and one B. That no thermistor has one B is a line of the budget: an error that is 0 at 25 C and at the
 * temperature that B leads to, and grows from there as the second B of the data sheet (or else a B25/85 that is 1.5 % above
 * B25/50) says, twice as much for the cold side: q (ln R - ln R25) (ln R - ln R at beta_to_C) in 1/T. Its sign is known,
 * but a beta curve has no room for it: take the table instead.
 * @throws CURVE_UNFIT, OUT_OF_RANGE
 */
export function betaModel({ R25_ohm, beta_K, beta_to_C, other }: BetaPart, divider: Divider, sheet: Sheet, ids: ThermistorIds): ThermistorModel {
  positive('The distance from 25 C to where B leads', Math.abs(beta_to_C - 25), 'K', 'B25/50 leads to 50 C');
  const curve = curveOfBeta(beta_K, R25_ohm);
  const L25 = Math.log(R25_ohm);
  const L_to = Math.log(thermistor_ohm(curve, beta_to_C));
  // Without a second B: the known rise over 35 K, from where this one leads.
  const far = other ?? { beta_K: beta_K * BETA_85_OVER_50, to_C: beta_to_C + 35 };
  const L_far = Math.log(thermistor_ohm(curveOfBeta(far.beta_K, R25_ohm), far.to_C));
  const q = (COLD_BEND * (1 / far.beta_K - 1 / betaThrough({ t_C: 25, R_ohm: R25_ohm }, { t_C: far.to_C, R_ohm: thermistor_ohm(curve, far.to_C) }))) / (L_far - L_to);
  const c = curve.a;
  return {
    kind: 'beta',
    ...divider,
    coefficients: c,
    sources: [
      ...partRows(c, tolerance(sheet, R25_ohm), ids.sensor),
      fixedResistorRow(c, sheet.thermistor_fixed_share, ids.sensor),
      limitRow(`${ids.type}: one beta`, 'no thermistor has one beta', [q * L25 * L_to, -q * (L25 + L_to), q, 0], "take the part's R-T table instead"),
    ],
    range_C: BETA_RANGE_C,
    errors: [],
  };
}

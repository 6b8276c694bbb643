import { quantity } from '../uncertainty/quantity.js';
import type { Quantity } from '../uncertainty/quantity.js';
import type { Source } from '../uncertainty/source.js';

/**
 * What a calibration comes to: plain JSON, kept whole in the record. `coefficients` alone give the value, so plain SQL
 * can; `sources` say how each of them is in doubt, together; `errors` are what a reading has besides.
 */
export type Model = LoadModel | SpeedModel | HotModel | ThermistorModel | MatchModel | FlowModel;

/** What can be calibrated. coolant_match: how far the two coolant sensors stand apart in one bath. */
export const channels = ['load', 'speed', 'hot', 'coolant_in', 'coolant_out', 'skin', 'coolant_match', 'flow'] as const;
export type Channel = (typeof channels)[number];

/** A source as JSON has it: there is no Infinity there, so a dof that is as good as infinite is null. */
export type StoredSource = Omit<Source, 'dof'> & { readonly dof: number | null };

export interface Coefficients {
  readonly coefficients: readonly number[];
  /** c_u[k]: what the source does to coefficient k, one standard uncertainty, signed. */
  readonly sources: readonly { readonly source: StoredSource; readonly c_u: readonly number[] }[];
}

/** A doubt that a reading has besides that of the coefficients. */
export interface ErrorTerm {
  readonly source: StoredSource;
  /** One standard uncertainty, in the unit of the reading times the unit of `per`. */
  readonly u: number;
  /**
   * What it grows with: reading (nothing), value (the reading itself, so `u` is relative), K (temperature change since
   * zero or calibration), h (time from the nearest zero), loop (4 s (1 - s), with s the reading's place in the calibrated
   * range: up and down branches meet at both ends).
   */
  readonly per: 'reading' | 'value' | 'K' | 'h' | 'loop';
}

/**
 * counts = c0 + c1 x + c2 x^2, with x the torque about the shaft in Nm (torque: masses hung in place) or the force on the
 * cell in N (force: torque is force times arm). c0 is the zero of that day; a reading is taken from its own zeros.
 */
export interface LoadModel extends Coefficients {
  readonly kind: 'torque' | 'force';
  readonly unit: 'Nm' | 'N';
  readonly degree: 1 | 2;
  readonly dof: number;
  readonly residual_sd_count: number;
  /** From the least to the greatest load that was hung: beyond it is extrapolation. */
  readonly x_range: readonly [number, number];
  /** kind force only: from shaft axis to the line of the force. */
  readonly arm_m: number | null;
  readonly u_arm_m: number | null;
  readonly errors: readonly ErrorTerm[];
}

export interface SpeedModel {
  readonly kind: 'magnets';
  readonly magnets: number;
  /** Share of a turn from each magnet to the next, adding to 1, from a smooth spin; null: not learned. Which is first is found anew each time. */
  readonly sector_share: readonly number[] | null;
  readonly u_sector_share: number | null;
  readonly errors: readonly ErrorTerm[];
}

/** True hot end from the converter's word: undo its slope, add the junction in mV, invert ITS-90; then c0 + c1 t is added (0, 0: none). */
export interface HotModel extends Coefficients {
  readonly kind: 'type_k';
  /** The converter's fixed slope, mV/K. */
  readonly slope_mV_K: number;
  readonly iec60584_class: 1 | 2;
  readonly errors: readonly ErrorTerm[];
}

/** 1/T = c0 + c1 ln R + c2 (ln R)^2 + c3 (ln R)^3, T in K, R in ohm: Steinhart-Hart has c2 = 0, beta c2 = c3 = 0. */
export interface ThermistorModel extends Coefficients {
  readonly kind: 'steinhart_hart' | 'table' | 'beta';
  readonly fixed_ohm: number;
  /** Where the fixed resistor goes; the thermistor has the other place. */
  readonly fixed_to: 'supply' | 'ground';
  readonly range_C: readonly [number, number];
  readonly errors: readonly ErrorTerm[];
}

/** c0: out less in, in K, both in one bath; it is taken from the difference of the two. */
export interface MatchModel extends Coefficients {
  readonly kind: 'isothermal';
  readonly at_C: number;
  readonly errors: readonly ErrorTerm[];
}

/** pulses: flow_Lpmin = c0 + c1 f + c2 f^2 for f in pulses per second (f > 0). fixed: flow_Lpmin = c0, by bucket and stopwatch. */
export interface FlowModel extends Coefficients {
  readonly kind: 'pulses' | 'fixed';
  /** Pulse rates that were tried, in Hz; null for fixed. */
  readonly f_range_Hz: readonly [number, number] | null;
  readonly errors: readonly ErrorTerm[];
}

export const stored = (source: Source): StoredSource => ({ ...source, dof: Number.isFinite(source.dof) ? source.dof : null });
export const revived = (source: StoredSource): Source => ({ ...source, dof: source.dof ?? Infinity });

/** The coefficients as quantities; what they share correlates them. */
export function coefficientQuantities(c: Coefficients, unit = ''): Quantity[] {
  return c.coefficients.map((value, k) => quantity(value, unit, c.sources.map(({ source, c_u }) => ({ source: revived(source), c_u: c_u[k] ?? 0 }))));
}

/** The other way: quantities of one calibration as coefficients that JSON can hold. */
export function coefficientsOf(quantities: readonly Quantity[]): Coefficients {
  const rows = new Map<string, { source: StoredSource; c_u: number[] }>();
  for (const [k, q] of quantities.entries()) {
    for (const { source, c_u } of q.parts) {
      const row = rows.get(source.id) ?? { source: stored(source), c_u: quantities.map(() => 0) };
      row.c_u[k] = c_u;
      rows.set(source.id, row);
    }
  }
  return { coefficients: quantities.map((q) => q.value), sources: [...rows.values()] };
}

/** An error as the parts of a reading in which it counts `by` times. */
export function errorQuantity(term: ErrorTerm, by: number, unit: string): Quantity {
  const source = revived(term.source);
  return quantity(0, unit, [{ source, c_u: term.u * by }]);
}


import type { CalibrationRecord, CheckRecord, ZeroRecord } from '../sense/calibration/record.js';
import type { Channel } from '../sense/calibration/model.js';
import type { Sheet } from '../sense/sheet.js';
import type { Quantity } from '../sense/uncertainty/quantity.js';

/** Columns of one stream, rising in tick; `n` rows of each hold. */
interface Columns {
  readonly n: number;
  readonly tick: Float64Array;
}

export interface ForceColumns extends Columns {
  readonly count: Int32Array;
  readonly flags: Uint8Array;
}
export interface HotColumns extends Columns {
  readonly word: Uint32Array;
}
export interface WaterColumns extends Columns {
  readonly in_sum: Uint16Array;
  readonly out_sum: Uint16Array;
  readonly skin_sum: Uint16Array;
  readonly spare_sum: Uint16Array;
  readonly in_spread: Uint8Array;
  readonly out_spread: Uint8Array;
  readonly skin_spread: Uint8Array;
  readonly spare_spread: Uint8Array;
}
export interface FlowColumns extends Columns {
  /** Wraps added; NaN before the first pulse. */
  readonly pulse_tick: Float64Array;
  /** Wraps added. */
  readonly pulses: Float64Array;
}

export interface Hole {
  readonly stream: string;
  readonly tick_from: number;
  readonly tick_to: number;
  readonly lost: number;
}

/**
 * What the board said over one stretch of one boot: counts and ticks, no meanings. From rows, or straight from a board.
 * Rows may reach beyond tick_from and tick_to: earlier edges give the rhythm, later conversions stand for the last turn.
 */
export interface Span {
  readonly boot_id: number;
  readonly simulated: boolean;
  readonly tick_from: number;
  readonly tick_to: number;
  /** By the clock map over this stretch, with the standard uncertainty of that rate. */
  readonly us_per_tick: number;
  readonly u_us_per_tick: number;
  /** Host time of tick_from; null where no clock map is known. */
  readonly from_utc_us: number | null;
  readonly force: ForceColumns;
  readonly edge: Columns;
  readonly hot: HotColumns;
  readonly water: WaterColumns;
  readonly flow: FlowColumns;
  readonly mark: Columns;
  readonly holes: readonly Hole[];
}

/** A value read off another instrument, as it stood over a span. */
export interface Entered {
  /** Of the entry in the record; two readings of one entry share its doubt. */
  readonly entered_id?: number;
  readonly name: string;
  readonly value: number;
  readonly u: number;
  readonly unit: string;
  /** From when it applied to the middle of the span; negative: it was read afterwards. */
  readonly age_s: number;
}

/** A zero or a check with its UTC, which tells its distance from a span of another boot. */
type WithUtc<T> = T & { readonly utc_us?: number };

/** All that is known besides the samples; versions as they held there. */
export interface Knowledge {
  /** Whose sensors these are: what they are off by is one source in all readings. Preset: of the calibrations. */
  readonly rig_id?: number;
  readonly magnets: number;
  readonly calibrations: Readonly<Partial<Record<Channel, CalibrationRecord>>>;
  /** Near the span, in order of place; of the same rig, retired ones left out. */
  readonly zeros: readonly WithUtc<ZeroRecord>[];
  readonly checks: readonly WithUtc<CheckRecord>[];
  readonly sheet: Sheet;
  readonly entered: readonly Entered[];
  /** Of all that turns, in kg m2; null or absent: not known. */
  readonly inertia_kgm2?: Quantity | null;
  /** What whoever gathered this would have seen to, in words. */
  readonly warnings?: readonly string[];
}

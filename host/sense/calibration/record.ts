import type { Channel, Model } from './model.js';

/** A place in the record: board time, which no clock that can be set moves. */
export interface Place {
  readonly boot_id: number;
  readonly tick: number;
}

/**
 * One version of one channel's calibration, never changed once kept. A later one with the same span takes its place
 * by naming it in `replaces`; both stay.
 */
export interface CalibrationRecord {
  readonly cal_id: number;
  readonly rig_id: number;
  readonly channel: Channel;
  /** The samples it holds for: from here ... */
  readonly from: Place;
  /** ... up to but not including there; null: until further notice. */
  readonly to: Place | null;
  readonly model: Model;
  /** What was seen and entered, whole: enough to do the fit again. */
  readonly data: unknown;
  readonly made_utc_us: number;
  readonly author: string;
  readonly remark: string;
  /** cal_id of the version that this one corrects. */
  readonly replaces: number | null;
  readonly retired_utc_us: number | null;
}

/** The load cell with nothing on the arm: mean of counts over a span, at its middle. */
export interface ZeroRecord extends Place {
  readonly zero_id: number;
  readonly rig_id: number;
  readonly tick_from: number;
  readonly tick_to: number;
  readonly count: number;
  /** Random part of the mean, autocorrelation included. */
  readonly u_count: number;
  readonly n: number;
  readonly remark: string;
}

/** One known mass hung on the arm: what was expected and what was read, to see that the calibration still holds. */
export interface CheckRecord extends Place {
  readonly check_id: number;
  readonly rig_id: number;
  readonly tick_from: number;
  readonly tick_to: number;
  readonly count: number;
  readonly u_count: number;
  readonly n: number;
  readonly nominal_kg: number;
  readonly cal_id: number | null;
  readonly expected: number | null;
  readonly read: number | null;
  readonly unit: string | null;
  /** Their difference lies within what both uncertainties allow; null: no calibration to read it by. */
  readonly passed: boolean | null;
  readonly remark: string;
}

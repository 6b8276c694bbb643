import type { Sheet } from '../sheet.js';
import { calibrateLoad } from '../load/calibrate.js';
import type { HungPoint, LoadCalibration } from '../load/calibrate.js';
import type { LoadFitter } from './load_fitted.js';
import { reportOf } from './load_report.js';
import type { Step } from './load_steps.js';
import type { LoadTerms } from './load_terms.js';
import type { Piece } from './words.js';

/** One reading of a guided calibration, as it was taken or as it was kept. */
export interface HungReading {
  readonly step: Step['kind'];
  /** Empty: nothing hangs. */
  readonly pieces: readonly Piece[];
  readonly boot_id: number;
  readonly count: number;
  readonly u_count: number;
  readonly n: number;
  readonly tick_from: number;
  readonly tick_to: number;
}

/** Whatever the readings are of: the session that takes them, or a correction years later. */
export interface ReadingsAsked {
  /** Such as `rig 3`: its set of weights is one, so that calibrations with it share its errors. */
  readonly rig: string;
  readonly terms: Pick<LoadTerms, 'way' | 'length' | 'gravity'>;
  /** In the order in which they were taken. */
  readonly readings: readonly HungReading[];
  /** null: the points decide. */
  readonly degree: 1 | 2 | null;
  readonly us_per_tick: number;
}

/** The fit of a guided calibration. @throws LOAD_UNFIT, FIT_IMPOSSIBLE */
export function fitReadings({ rig, terms, readings, degree, us_per_tick }: ReadingsAsked, sheet: Sheet): LoadCalibration {
  const [first] = readings;
  return calibrateLoad(
    hungOf(readings, us_per_tick),
    {
      kind: terms.way,
      set: `${rig} weights`,
      gravity: terms.gravity,
      arm: { value_m: terms.length.value_m, u_m: terms.length.u_m },
      key: `${rig}, boot ${first?.boot_id ?? 0}, tick ${first?.tick_from ?? 0}`,
    },
    sheet,
    { degree },
  );
}

/** @param rig such as `rig 3` */
export function loadFitter(rig: string, sheet: Sheet): LoadFitter {
  return ({ terms, taken, degree, us_per_tick }) => {
    const readings = taken.map(({ step, boot_id, reading }): HungReading => ({ ...reading, step: step.kind, pieces: step.rung?.pieces ?? [], boot_id }));
    const calibration = fitReadings({ rig, terms, readings, degree, us_per_tick }, sheet);
    return { model: calibration.model, ...reportOf(calibration, taken, us_per_tick, sheet) };
  };
}

function hungOf(readings: readonly HungReading[], us_per_tick: number): HungPoint[] {
  const oneBoot = new Set(readings.map((r) => r.boot_id)).size === 1;
  return readings.map(({ step, pieces, count, u_count, n, tick_from, tick_to }, sequence) => ({
    pieces,
    count,
    direction: step === 'zero' || step === 'up' ? 'up' : 'down',
    u_count,
    n,
    // Ticks of two boots have no common beginning.
    t_s: oneBoot ? ((tick_from + tick_to) * us_per_tick) / 2e6 : null,
    sequence,
  }));
}

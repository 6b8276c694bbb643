import { calibrateLoad } from '../load/calibrate.js';
import type { HungPoint } from '../load/calibrate.js';
import type { Sheet } from '../sheet.js';
import type { LoadFitter } from './load_fitted.js';
import { reportOf } from './load_report.js';
import type { Taken } from './load_steps.js';

/**
 * The fit of a guided calibration, of the readings as they were taken.
 * @param rig such as `rig 3`: its set of weights is one, so that calibrations with it share its errors
 */
export function loadFitter(rig: string, sheet: Sheet): LoadFitter {
  return ({ terms, taken, degree, us_per_tick }) => {
    const first = taken[0];
    const calibration = calibrateLoad(
      hungOf(taken, us_per_tick),
      {
        kind: terms.way,
        set: `${rig} weights`,
        gravity: terms.gravity,
        arm: { value_m: terms.length.value_m, u_m: terms.length.u_m },
        key: `${rig}, boot ${first?.boot_id ?? 0}, tick ${first?.reading.tick_from ?? 0}`,
      },
      sheet,
      { degree },
    );
    return { model: calibration.model, ...reportOf(calibration, taken, us_per_tick, sheet) };
  };
}

function hungOf(taken: readonly Taken[], us_per_tick: number): HungPoint[] {
  const oneBoot = new Set(taken.map((t) => t.boot_id)).size === 1;
  return taken.map(({ step, reading }, sequence) => ({
    pieces: step.rung?.pieces ?? [],
    count: reading.count,
    direction: step.kind === 'zero' || step.kind === 'up' ? 'up' : 'down',
    u_count: reading.u_count,
    n: reading.n,
    // Ticks of two boots have no common beginning.
    t_s: oneBoot ? ((reading.tick_from + reading.tick_to) * us_per_tick) / 2e6 : null,
    sequence,
  }));
}

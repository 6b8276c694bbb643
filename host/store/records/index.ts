import type { Database } from 'better-sqlite3';

import type { Clock } from '../../clock.js';
import type { Place } from '../../sense/calibration/record.js';
import { Calibrations } from './calibrations.js';
import type { KeptCalibration } from './calibrations.js';
import { Results } from './results.js';
import { ToldValues } from './told.js';
import { Zeros } from './zeros.js';
import type { ZerosNear } from './zeros.js';

/** What is kept of a rig besides its raw rows. Every write is one transaction, committed when the call returns. */
export class Records {
  readonly calibrations: Calibrations;
  readonly zeros: Zeros;
  readonly told: ToldValues;
  readonly results: Results;

  constructor(db: Database, clock: Clock) {
    this.calibrations = new Calibrations(db, clock);
    this.zeros = new Zeros(db, clock);
    this.told = new ToldValues(db, clock);
    this.results = new Results(db, clock);
  }

  /**
   * What a load cell reading at a place is read by: the calibration, and the zeros on either side. A zero counts where the
   * same calibration holds, since another may be of another cell. The view torque says the same.
   */
  loadAt(rig_id: number, place: Place): ZerosNear & { readonly calibration: KeptCalibration | null } {
    const calibration = this.calibrations.at(rig_id, 'load', place);
    const near = this.zeros.near(rig_id, place);
    const counts = <Z extends Place>(zero: Z | null): Z | null =>
      zero !== null && calibration !== null && this.calibrations.at(rig_id, 'load', zero)?.cal_id === calibration.cal_id ? zero : null;
    return { calibration, before: counts(near.before), after: counts(near.after) };
  }
}

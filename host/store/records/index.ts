import type { Database } from 'better-sqlite3';

import type { Clock } from '../../clock.js';
import { Calibrations } from './calibrations.js';
import { ToldValues } from './told.js';
import { Zeros } from './zeros.js';

/** What is kept of a rig besides its raw rows. Every write is one transaction, committed when the call returns. */
export class Records {
  readonly calibrations: Calibrations;
  readonly zeros: Zeros;
  readonly told: ToldValues;

  constructor(db: Database, clock: Clock) {
    this.calibrations = new Calibrations(db, clock);
    this.zeros = new Zeros(db, clock);
    this.told = new ToldValues(db, clock);
  }
}

import { first } from './001_first.js';
import { views } from './002_views.js';
import { wide } from './003_wide.js';
import { wideViews } from './004_wide_views.js';
import { calibrations } from './005_calibrations.js';
import { siViews } from './006_si_views.js';
import { ledger } from './007_ledger.js';
import { clockRate } from './008_clock_rate.js';
import { watch } from './009_watch.js';
import { taken } from './010_taken.js';
import { trials } from './011_trials.js';

export interface Migration {
  /** The user_version that the file has afterwards. */
  readonly number: number;
  readonly says: string;
  readonly sql: string;
}

/** In order, without a hole: the last number is the schema that this program knows. */
export const migrations: readonly Migration[] = [first, views, wide, wideViews, calibrations, siViews, ledger, clockRate, watch, taken, trials];

export const SCHEMA_VERSION = migrations.length;

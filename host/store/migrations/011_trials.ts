import { placeUtcSql } from '../records/place.js';
import { iso } from './002_views.js';
import { frozen } from './005_calibrations.js';
import type { Migration } from './index.js';
import { ofRun, seconds, told, workedOf } from './ledger/views.js';

/** Columns of the view trials. */
export const TRIAL_NAMES = ['swing_Pa', 'rate_per_min', 'ideal_swing_Pa', 'ideal_share', 'hot_C', 'coolant_in_C', 'coolant_out_C', 'heat_W', 'heater_W', 'fuel_W'] as const;

const ids = ['cal_ids', 'zero_ids', 'check_ids', 'entered_ids'] as const;

export const trials: Migration = {
  number: 11,
  says: 'what trials without a shaft said',
  sql: `
CREATE TABLE trial(
  -- What one working out says of one stretch of a run whose displacer was moved by hand. n: number of the stretch within it. said, more and the lists as in
  -- point and reduction. superseded_by: the trial that took its place; both stay.
  trial_id      INTEGER PRIMARY KEY,
  run_id        INTEGER NOT NULL REFERENCES run,
  n             INTEGER NOT NULL,
  boot_id       INTEGER NOT NULL REFERENCES boot,
  tick_from     INTEGER NOT NULL,
  tick_to       INTEGER NOT NULL CHECK (tick_to >= tick_from),
  strokes       INTEGER NOT NULL CHECK (strokes >= 0),
  verified      INTEGER NOT NULL CHECK (verified IN (0, 1)),
  why           TEXT,
  said          TEXT NOT NULL CHECK (json_valid(said)),
  more          TEXT NOT NULL CHECK (json_valid(more)),
  settings      TEXT NOT NULL CHECK (json_valid(settings)),
  ${ids.map((c) => `${c.padEnd(13)} TEXT NOT NULL CHECK (json_type(${c}) = 'array')`).join(',\n  ')},
  version       TEXT NOT NULL,
  made_utc_us   INTEGER NOT NULL,
  author        TEXT NOT NULL,
  superseded_by INTEGER REFERENCES trial CHECK (superseded_by > trial_id),
  CHECK (verified = 1 OR why IS NOT NULL)
) STRICT;
CREATE INDEX trial_of_run ON trial(run_id, trial_id);
${frozen('trial', 'trial_id', ['run_id', 'n', 'boot_id', 'tick_from', 'tick_to', 'strokes', 'verified', 'why', 'said', 'more', 'settings', ...ids, 'version', 'made_utc_us', 'author'], ['superseded_by'])}

CREATE VIEW trials AS
-- Trials before the mechanism is fitted. swing_Pa: of the pressure at the spare input, peak to peak, as the displacer is moved by hand; rate_per_min: strokes;
-- ideal_share: of what the ideal cycle gives between the measured temperatures, 1 at most. Columns u_, U95_, stale and superseded as in points.
SELECT ${ofRun}, d.n, ${iso(placeUtcSql('d.boot_id', 'd.tick_from'))} AS from_t, ${seconds('d.tick_to - d.tick_from', 'b')} AS duration_s, d.strokes,
  ${told(TRIAL_NAMES, 'd.said')},
  d.verified, d.why, d.boot_id, d.tick_from, d.tick_to, d.said, d.more, ${workedOf('trial_id')}
FROM trial d JOIN boot b ON b.boot_id = d.boot_id JOIN run r ON r.run_id = d.run_id;
`,
};

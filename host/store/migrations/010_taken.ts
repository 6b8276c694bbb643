import { iso } from './002_views.js';
import { frozen } from './005_calibrations.js';
import type { Migration } from './index.js';

export const taken: Migration = {
  number: 10,
  says: 'points that a person took, whatever the gate said',
  sql: `
CREATE TABLE point_taken(
  -- A stretch that is a point of every run over it because a person said so, with the reason. retired: taken back.
  taken_id       INTEGER PRIMARY KEY,
  boot_id        INTEGER NOT NULL REFERENCES boot,
  tick_from      INTEGER NOT NULL CHECK (tick_from >= 0),
  tick_to        INTEGER NOT NULL CHECK (tick_to > tick_from),
  reason         TEXT NOT NULL CHECK (reason <> ''),
  made_utc_us    INTEGER NOT NULL,
  author         TEXT NOT NULL,
  retired_utc_us INTEGER
) STRICT;
CREATE INDEX point_taken_at ON point_taken(boot_id, tick_from);
${frozen('point_taken', 'taken_id', ['boot_id', 'tick_from', 'tick_to', 'reason', 'made_utc_us', 'author'])}

CREATE VIEW points_taken AS
-- Stretches that a person took for a point; those taken back have a time in retired.
SELECT taken_id, boot_id, tick_from, tick_to, reason, author, ${iso('made_utc_us')} AS made, ${iso('retired_utc_us')} AS retired, (SELECT simulated FROM origin) AS simulated
FROM point_taken;
`,
};

import { frozen } from '../005_calibrations.js';

/** What people say may change; each table of such has a history, whose rows never do. undoes: the change that this one took back. */
const history = (of: string, id: string): string => `
CREATE TABLE ${of}_history(
  -- did: what was done; before: how it was until utc_us, as JSON. undoes: the change that this one took back.
  change_id INTEGER PRIMARY KEY,
  ${id} INTEGER NOT NULL REFERENCES ${of},
  utc_us    INTEGER NOT NULL,
  author    TEXT NOT NULL,
  did       TEXT NOT NULL,
  before    TEXT NOT NULL CHECK (json_valid(before)),
  undoes    INTEGER REFERENCES ${of}_history
) STRICT;
CREATE INDEX ${of}_history_of ON ${of}_history(${id}, change_id);
${frozen(`${of}_history`, 'change_id', [id, 'utc_us', 'author', 'did', 'before', 'undoes'])}`;

const stays = (table: string): string => `CREATE TRIGGER ${table}_stays BEFORE DELETE ON ${table}
BEGIN SELECT RAISE(ABORT, 'a row of ${table} is never deleted: archive it'); END;`;

export const builds = `
CREATE TABLE build(
  -- One state of the engine. like_build_id: the one that its list of parts was copied from.
  build_id      INTEGER PRIMARY KEY,
  name          TEXT NOT NULL UNIQUE CHECK (name <> ''),
  note          TEXT NOT NULL DEFAULT '',
  like_build_id INTEGER REFERENCES build CHECK (like_build_id < build_id),
  archived      INTEGER NOT NULL DEFAULT 0 CHECK (archived IN (0, 1)),
  made_utc_us   INTEGER NOT NULL,
  author        TEXT NOT NULL
) STRICT;
${stays('build')}

CREATE TABLE part(
  -- One piece that can be held in a hand, through all builds that it is in: what is counted is counted of it.
  part_id     INTEGER PRIMARY KEY,
  made_utc_us INTEGER NOT NULL,
  author      TEXT NOT NULL
) STRICT;
${stays('part')}

CREATE TABLE build_part(
  -- name: the place in the engine, such as displacer. photo: a path. made_on: a date, as it was told.
  build_id   INTEGER NOT NULL REFERENCES build,
  name       TEXT NOT NULL CHECK (name <> ''),
  part_id    INTEGER NOT NULL REFERENCES part,
  material   TEXT NOT NULL DEFAULT '',
  mass_g     REAL CHECK (mass_g > 0),
  dimensions TEXT NOT NULL DEFAULT '',
  note       TEXT NOT NULL DEFAULT '',
  photo      TEXT NOT NULL DEFAULT '',
  made_by    TEXT NOT NULL DEFAULT '',
  made_on    TEXT NOT NULL DEFAULT '',
  PRIMARY KEY (build_id, name)
) STRICT, WITHOUT ROWID;
CREATE INDEX build_part_of ON build_part(part_id, build_id);
${history('build', 'build_id')}

CREATE TABLE build_use(
  -- The engine is this build from (boot_from, tick_from) on, until the next row; boot_from NULL: from the beginning of the record.
  use_id         INTEGER PRIMARY KEY,
  build_id       INTEGER NOT NULL REFERENCES build,
  boot_from      INTEGER REFERENCES boot,
  tick_from      INTEGER NOT NULL DEFAULT 0 CHECK (tick_from >= 0),
  made_utc_us    INTEGER NOT NULL,
  author         TEXT NOT NULL,
  remark         TEXT NOT NULL DEFAULT '',
  retired_utc_us INTEGER,
  retired_remark TEXT,
  CHECK ((retired_utc_us IS NULL) = (retired_remark IS NULL))
) STRICT;
CREATE INDEX build_use_by_place ON build_use(coalesce(boot_from, 0), tick_from, use_id, build_id) WHERE retired_utc_us IS NULL;
${frozen('build_use', 'use_id', ['build_id', 'boot_from', 'tick_from', 'made_utc_us', 'author', 'remark'], ['retired_utc_us', 'retired_remark'])}
`;

export const runs = `
ALTER TABLE run ADD COLUMN build_id INTEGER REFERENCES build;
CREATE INDEX run_of_build ON run(build_id);
ALTER TABLE run_history ADD COLUMN did TEXT NOT NULL DEFAULT '';
ALTER TABLE run_history ADD COLUMN undoes INTEGER REFERENCES run_history;
CREATE INDEX run_history_of ON run_history(run_id, change_id);
CREATE TRIGGER run_history_told_stays BEFORE UPDATE ON run_history WHEN NEW.did IS NOT OLD.did OR NEW.undoes IS NOT OLD.undoes
BEGIN SELECT RAISE(ABORT, 'a row of run_history is never changed: add another'); END;
${stays('run')}

CREATE TABLE run_exclusion(
  -- Left out when points are looked for, and why. A span over several boots has a row of each, with one number.
  run_id    INTEGER NOT NULL REFERENCES run,
  exclusion INTEGER NOT NULL CHECK (exclusion > 0),
  boot_id   INTEGER NOT NULL REFERENCES boot,
  tick_from INTEGER NOT NULL CHECK (tick_from >= 0),
  tick_to   INTEGER NOT NULL CHECK (tick_to >= tick_from),
  reason    TEXT NOT NULL CHECK (reason <> ''),
  PRIMARY KEY (run_id, exclusion, boot_id, tick_from)
) STRICT, WITHOUT ROWID;

CREATE TABLE mark_note(
  -- A dated remark. pressed_boot_id and pressed_tick: the press of the board's button that it is about. utc_us: when it holds; boot_id
  -- and tick: the same in the record, where it lies in one, and then they are what dates it.
  mark_id         INTEGER PRIMARY KEY,
  rig_id          INTEGER NOT NULL REFERENCES rig,
  utc_us          INTEGER NOT NULL,
  boot_id         INTEGER REFERENCES boot,
  tick            INTEGER CHECK (tick >= 0),
  pressed_boot_id INTEGER,
  pressed_tick    INTEGER,
  text            TEXT NOT NULL,
  source          TEXT NOT NULL CHECK (source IN ('button', 'command', 'page')),
  archived        INTEGER NOT NULL DEFAULT 0 CHECK (archived IN (0, 1)),
  made_utc_us     INTEGER NOT NULL,
  author          TEXT NOT NULL,
  UNIQUE (pressed_boot_id, pressed_tick),
  FOREIGN KEY (pressed_boot_id, pressed_tick) REFERENCES mark_raw(boot_id, tick),
  CHECK ((boot_id IS NULL) = (tick IS NULL)),
  CHECK ((pressed_boot_id IS NULL) = (pressed_tick IS NULL)),
  CHECK ((source = 'button') = (pressed_tick IS NOT NULL))
) STRICT;
CREATE INDEX mark_note_by_place ON mark_note(boot_id, tick);
CREATE INDEX mark_note_by_time ON mark_note(utc_us);
${stays('mark_note')}
${history('mark_note', 'mark_id')}
`;

export const wear = `
CREATE TABLE wear(
  -- What a stretch of the record wears: counted once when it is complete, cut where a build or a run begins or ends. turning_tick: time
  -- from edge to edge where it is short enough. heat_cycles: hot end above 150 C and back below 80 C, at the way back; hot: it is above at the end.
  boot_id      INTEGER NOT NULL REFERENCES boot,
  tick_from    INTEGER NOT NULL,
  tick_to      INTEGER NOT NULL CHECK (tick_to > tick_from),
  edges        INTEGER NOT NULL,
  turning_tick INTEGER NOT NULL,
  heat_cycles  INTEGER NOT NULL,
  hot          INTEGER NOT NULL CHECK (hot IN (0, 1)),
  PRIMARY KEY (boot_id, tick_from)
) STRICT, WITHOUT ROWID;

CREATE TABLE build_wear(
  -- The sum of wear over the time in which the engine was that build, worked out anew after each counting.
  build_id       INTEGER PRIMARY KEY REFERENCES build,
  revolutions    REAL NOT NULL,
  turning_h      REAL NOT NULL,
  heat_cycles    INTEGER NOT NULL,
  counted_utc_us INTEGER NOT NULL
) STRICT;
`;

const ids = ['cal_ids', 'zero_ids', 'check_ids', 'entered_ids'];

export const reductions = `
CREATE TABLE reduction(
  -- One working out, whose rows are in point, curve, heat_balance or verdict: by which version of this program, from which
  -- calibrations, zeros, checks and entries (JSON lists), with which settings. superseded_by: the one that took its place; both stay.
  reduction_id  INTEGER PRIMARY KEY,
  kind          TEXT NOT NULL CHECK (kind IN ('points', 'curve', 'heat', 'verdict')),
  run_id        INTEGER REFERENCES run,
  settings      TEXT NOT NULL CHECK (json_valid(settings)),
  ${ids.map((c) => `${c.padEnd(13)} TEXT NOT NULL CHECK (json_type(${c}) = 'array')`).join(',\n  ')},
  version       TEXT NOT NULL,
  made_utc_us   INTEGER NOT NULL,
  author        TEXT NOT NULL,
  superseded_by INTEGER REFERENCES reduction CHECK (superseded_by > reduction_id),
  CHECK ((kind = 'verdict') = (run_id IS NULL))
) STRICT;
CREATE INDEX reduction_of_run ON reduction(run_id, kind, reduction_id);
${frozen('reduction', 'reduction_id', ['kind', 'run_id', 'settings', ...ids, 'version', 'made_utc_us', 'author'], ['superseded_by'])}

CREATE TABLE point(
  -- One steady condition. said: JSON, for each quantity (unit in its name) value, u, dof, U95 and budget, or value null and reason; the view points has them as
  -- columns. n: its number within the reduction. override: why it was taken although the gate did not hold.
  point_id     INTEGER PRIMARY KEY,
  reduction_id INTEGER NOT NULL REFERENCES reduction,
  n            INTEGER NOT NULL,
  boot_id      INTEGER NOT NULL REFERENCES boot,
  tick_from    INTEGER NOT NULL,
  tick_to      INTEGER NOT NULL CHECK (tick_to >= tick_from),
  branch       TEXT NOT NULL,
  override     TEXT,
  revolutions  REAL NOT NULL,
  discarded    INTEGER NOT NULL,
  verified     INTEGER NOT NULL CHECK (verified IN (0, 1)),
  why          TEXT,
  said         TEXT NOT NULL CHECK (json_valid(said)),
  more         TEXT NOT NULL CHECK (json_valid(more)),
  UNIQUE (reduction_id, n),
  CHECK (verified = 1 OR why IS NOT NULL)
) STRICT;
${frozen('point', 'point_id', ['reduction_id', 'n', 'boot_id', 'tick_from', 'tick_to', 'branch', 'override', 'revolutions', 'discarded', 'verified', 'why', 'said', 'more'])}

CREATE TABLE curve(
  -- Torque over speed as fitted. said as in point; more: models with their weights and coefficients, the band.
  curve_id       INTEGER PRIMARY KEY,
  reduction_id   INTEGER NOT NULL UNIQUE REFERENCES reduction,
  state          TEXT NOT NULL,
  points         INTEGER NOT NULL,
  least_speed_rpm REAL NOT NULL,
  most_speed_rpm REAL NOT NULL,
  verified       INTEGER NOT NULL CHECK (verified IN (0, 1)),
  why            TEXT,
  said           TEXT NOT NULL CHECK (json_valid(said)),
  more           TEXT NOT NULL CHECK (json_valid(more)),
  CHECK (verified = 1 OR why IS NOT NULL)
) STRICT;
${frozen('curve', 'curve_id', ['reduction_id', 'state', 'points', 'least_speed_rpm', 'most_speed_rpm', 'verified', 'why', 'said', 'more'])}

CREATE TABLE heat_balance(
  -- Of a stretch, mostly a point. said as in point. fault: why it cannot be so, which is a fault of an instrument.
  heat_id      INTEGER PRIMARY KEY,
  reduction_id INTEGER NOT NULL REFERENCES reduction,
  n            INTEGER NOT NULL,
  boot_id      INTEGER NOT NULL REFERENCES boot,
  tick_from    INTEGER NOT NULL,
  tick_to      INTEGER NOT NULL CHECK (tick_to >= tick_from),
  fault        TEXT,
  verified     INTEGER NOT NULL CHECK (verified IN (0, 1)),
  why          TEXT,
  said         TEXT NOT NULL CHECK (json_valid(said)),
  more         TEXT NOT NULL CHECK (json_valid(more)),
  UNIQUE (reduction_id, n),
  CHECK (verified = 1 OR why IS NOT NULL)
) STRICT;
${frozen('heat_balance', 'heat_id', ['reduction_id', 'n', 'boot_id', 'tick_from', 'tick_to', 'fault', 'verified', 'why', 'said', 'more'])}

CREATE TABLE verdict(
  -- Of build b against build a, by one measure such as peak_power_W. difference_share: b over a, less 1. look: how often it was looked at
  -- in this plan, this time included. needed_runs: a side, until a call is likely; NULL: more than the plan has. more: all of it.
  verdict_id       INTEGER PRIMARY KEY,
  reduction_id     INTEGER NOT NULL UNIQUE REFERENCES reduction,
  build_a          INTEGER NOT NULL REFERENCES build,
  build_b          INTEGER NOT NULL REFERENCES build,
  measure          TEXT NOT NULL,
  word             TEXT NOT NULL CHECK (word IN ('better', 'worse', 'same', 'cannot_tell')),
  difference_share REAL NOT NULL,
  least_share      REAL NOT NULL,
  most_share       REAL NOT NULL,
  margin_share     REAL NOT NULL,
  runs_a           INTEGER NOT NULL,
  runs_b           INTEGER NOT NULL,
  look             INTEGER NOT NULL,
  needed_runs      INTEGER,
  run_ids          TEXT NOT NULL CHECK (json_type(run_ids) = 'array'),
  more             TEXT NOT NULL CHECK (json_valid(more)),
  CHECK (build_a <> build_b)
) STRICT;
CREATE INDEX verdict_of ON verdict(build_a, build_b, measure);
${frozen('verdict', 'verdict_id', ['reduction_id', 'build_a', 'build_b', 'measure', 'word', 'difference_share', 'least_share', 'most_share', 'margin_share', 'runs_a', 'runs_b', 'look', 'needed_runs', 'run_ids', 'more'])}
`;

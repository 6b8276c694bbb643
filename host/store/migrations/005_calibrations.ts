import type { Migration } from './index.js';

/**
 * What a row says is never changed, by any program: a correction is a row of its own. The only thing that may be set
 * afterwards, once, is that a row no longer holds. INSERT OR REPLACE would delete without asking a delete trigger, so
 * an id that is there already is refused before it comes to that.
 */
export function frozen(table: string, id: string, columns: readonly string[], once: readonly string[] = []): string {
  const differs = (names: readonly string[]): string => names.map((c) => `NEW.${c} IS NOT OLD.${c}`).join(' OR ');
  const said = `'a row of ${table} is never changed: add another'`;
  return `
CREATE TRIGGER ${table}_stays BEFORE DELETE ON ${table}
BEGIN SELECT RAISE(ABORT, 'a row of ${table} is never deleted'); END;
CREATE TRIGGER ${table}_is_new BEFORE INSERT ON ${table} WHEN EXISTS (SELECT 1 FROM ${table} WHERE ${id} = NEW.${id})
BEGIN SELECT RAISE(ABORT, ${said}); END;
CREATE TRIGGER ${table}_frozen BEFORE UPDATE ON ${table} WHEN ${differs([id, ...columns])}
BEGIN SELECT RAISE(ABORT, ${said}); END;
${once.length === 0 ? '' : `CREATE TRIGGER ${table}_once BEFORE UPDATE ON ${table} WHEN OLD.${once[0]} IS NOT NULL AND (${differs(once)})
BEGIN SELECT RAISE(ABORT, 'this was set in ${table} before and stays'); END;`}`;
}

/** A place is of the rig that it is kept for. */
const ofItsRig = (table: string, boot: string): string => `
CREATE TRIGGER ${table}_of_its_rig BEFORE INSERT ON ${table}
WHEN NEW.${boot} IS NOT NULL AND NEW.rig_id IS NOT (SELECT rig_id FROM boot WHERE boot_id = NEW.${boot})
BEGIN SELECT RAISE(ABORT, 'that boot is none of this rig'); END;`;

const number = (column: string, path: string): string => `${column} REAL GENERATED ALWAYS AS (json_extract(model, '$.${path}')) STORED`;

export const calibrations: Migration = {
  number: 5,
  says: 'calibrations, zeros, check masses, rig sheet, entered quantities, runs and results',
  sql: `
CREATE INDEX boot_by_rig ON boot(rig_id, boot_id);

CREATE TABLE calibration(
  -- One version. It holds from (boot_from, tick_from) up to but not including (boot_to, tick_to); NULL: until further notice.
  -- model: all of it, as JSON; the columns after it are taken from it, for SQL. data: what was seen and entered.
  -- line_id: the version that began this line of corrections; a correction takes the rank of what it replaces, so that
  -- correcting an old version does not put it above a newer one.
  cal_id         INTEGER PRIMARY KEY,
  rig_id         INTEGER NOT NULL REFERENCES rig,
  channel        TEXT NOT NULL CHECK (channel IN ('load', 'speed', 'hot', 'coolant_in', 'coolant_out', 'skin', 'coolant_match', 'flow')),
  line_id        INTEGER NOT NULL REFERENCES calibration DEFERRABLE INITIALLY DEFERRED,
  boot_from      INTEGER NOT NULL REFERENCES boot,
  tick_from      INTEGER NOT NULL CHECK (tick_from >= 0),
  boot_to        INTEGER REFERENCES boot,
  tick_to        INTEGER CHECK (tick_to >= 0),
  model          TEXT NOT NULL CHECK (json_valid(model)),
  data           TEXT NOT NULL CHECK (json_valid(data)),
  kind           TEXT GENERATED ALWAYS AS (json_extract(model, '$.kind')) STORED NOT NULL,
  ${[0, 1, 2, 3].map((k) => number(`c${k}`, `coefficients[${k}]`)).join(',\n  ')},
  ${number('arm_m', 'arm_m')},
  ${number('slope_mV_K', 'slope_mV_K')},
  ${number('fixed_ohm', 'fixed_ohm')},
  fixed_to       TEXT GENERATED ALWAYS AS (json_extract(model, '$.fixed_to')) STORED,
  iec60584_class INTEGER GENERATED ALWAYS AS (json_extract(model, '$.iec60584_class')) STORED,
  -- What was tried, in Nm, N, C or Hz.
  ${['least', 'most'].map((end, i) => `range_${end} REAL GENERATED ALWAYS AS (coalesce(${['x_range', 'range_C', 'f_range_Hz'].map((r) => `json_extract(model, '$.${r}[${i}]')`).join(', ')})) STORED`).join(',\n  ')},
  made_utc_us    INTEGER NOT NULL,
  author         TEXT NOT NULL,
  remark         TEXT NOT NULL,
  replaces       INTEGER REFERENCES calibration,
  retired_utc_us INTEGER,
  retired_remark TEXT,
  CHECK ((boot_to IS NULL) = (tick_to IS NULL)),
  CHECK (boot_to IS NULL OR (boot_from, tick_from) < (boot_to, tick_to)),
  CHECK (replaces IS NULL OR replaces < cal_id),
  CHECK ((retired_utc_us IS NULL) = (retired_remark IS NULL))
) STRICT;
CREATE INDEX calibration_by_rank ON calibration(rig_id, channel, line_id DESC, cal_id DESC, boot_from, tick_from, boot_to, tick_to) WHERE retired_utc_us IS NULL;
CREATE INDEX calibration_replaced ON calibration(replaces);
CREATE TRIGGER calibration_in_line BEFORE INSERT ON calibration
WHEN NEW.line_id IS NOT coalesce((SELECT line_id FROM calibration WHERE cal_id = NEW.replaces AND rig_id = NEW.rig_id AND channel = NEW.channel),
  CASE WHEN NEW.replaces IS NULL THEN NEW.cal_id END)
BEGIN SELECT RAISE(ABORT, 'a calibration replaces one of its own rig and channel, and takes its line_id'); END;
${frozen('calibration', 'cal_id', ['rig_id', 'channel', 'line_id', 'boot_from', 'tick_from', 'boot_to', 'tick_to', 'model', 'data', 'made_utc_us', 'author', 'remark', 'replaces'], ['retired_utc_us', 'retired_remark'])}
${ofItsRig('calibration', 'boot_from')}

CREATE TABLE zero(
  -- The load cell with nothing on the arm: mean of the counts from tick_from to tick_to, at its middle, tick.
  -- utc_us: tick by the clock map as it was known then, for distances between boots.
  zero_id        INTEGER PRIMARY KEY,
  rig_id         INTEGER NOT NULL REFERENCES rig,
  boot_id        INTEGER NOT NULL REFERENCES boot,
  tick           INTEGER NOT NULL CHECK (tick BETWEEN tick_from AND tick_to),
  tick_from      INTEGER NOT NULL CHECK (tick_from >= 0),
  tick_to        INTEGER NOT NULL,
  utc_us         INTEGER NOT NULL,
  count          REAL NOT NULL,
  u_count        REAL NOT NULL CHECK (u_count >= 0),
  n              INTEGER NOT NULL CHECK (n > 0),
  made_utc_us    INTEGER NOT NULL,
  author         TEXT NOT NULL,
  remark         TEXT NOT NULL,
  -- Found to be none, such as with a mass still on the arm.
  retired_utc_us INTEGER,
  retired_remark TEXT,
  CHECK ((retired_utc_us IS NULL) = (retired_remark IS NULL))
) STRICT;
CREATE INDEX zero_by_place ON zero(rig_id, boot_id, tick, zero_id) WHERE retired_utc_us IS NULL;
${frozen('zero', 'zero_id', ['rig_id', 'boot_id', 'tick', 'tick_from', 'tick_to', 'utc_us', 'count', 'u_count', 'n', 'made_utc_us', 'author', 'remark'], ['retired_utc_us', 'retired_remark'])}
${ofItsRig('zero', 'boot_id')}

CREATE TABLE check_mass(
  -- A known mass on the arm: expected by the calibration, and read. passed NULL: there was none to read it by.
  check_id       INTEGER PRIMARY KEY,
  rig_id         INTEGER NOT NULL REFERENCES rig,
  boot_id        INTEGER NOT NULL REFERENCES boot,
  tick           INTEGER NOT NULL CHECK (tick BETWEEN tick_from AND tick_to),
  tick_from      INTEGER NOT NULL CHECK (tick_from >= 0),
  tick_to        INTEGER NOT NULL,
  utc_us         INTEGER NOT NULL,
  count          REAL NOT NULL,
  u_count        REAL NOT NULL CHECK (u_count >= 0),
  n              INTEGER NOT NULL CHECK (n > 0),
  nominal_kg     REAL NOT NULL CHECK (nominal_kg > 0),
  cal_id         INTEGER REFERENCES calibration,
  expected       REAL,
  read           REAL,
  unit           TEXT,
  passed         INTEGER CHECK (passed IN (0, 1)),
  made_utc_us    INTEGER NOT NULL,
  author         TEXT NOT NULL,
  remark         TEXT NOT NULL,
  retired_utc_us INTEGER,
  retired_remark TEXT,
  CHECK ((retired_utc_us IS NULL) = (retired_remark IS NULL))
) STRICT;
CREATE INDEX check_mass_by_place ON check_mass(rig_id, boot_id, tick) WHERE retired_utc_us IS NULL;
${frozen('check_mass', 'check_id', ['rig_id', 'boot_id', 'tick', 'tick_from', 'tick_to', 'utc_us', 'count', 'u_count', 'n', 'nominal_kg', 'cal_id', 'expected', 'read', 'unit', 'passed', 'made_utc_us', 'author', 'remark'], ['retired_utc_us', 'retired_remark'])}
${ofItsRig('check_mass', 'boot_id')}

CREATE TABLE rig_sheet(
  -- What was told off data sheets. The last row of a name holds; value NULL: back to the preset.
  told_id     INTEGER PRIMARY KEY,
  rig_id      INTEGER NOT NULL REFERENCES rig,
  name        TEXT NOT NULL,
  value       REAL,
  made_utc_us INTEGER NOT NULL,
  author      TEXT NOT NULL,
  remark      TEXT NOT NULL
) STRICT;
CREATE INDEX rig_sheet_by_name ON rig_sheet(rig_id, name, told_id);
${frozen('rig_sheet', 'told_id', ['rig_id', 'name', 'value', 'made_utc_us', 'author', 'remark'])}

CREATE TABLE entered(
  -- What was read off other instruments and typed in. utc_us: when it applied; boot_id and tick: the same in the record, where it lies in one.
  entered_id     INTEGER PRIMARY KEY,
  rig_id         INTEGER NOT NULL REFERENCES rig,
  name           TEXT NOT NULL,
  value          REAL NOT NULL,
  u              REAL NOT NULL CHECK (u >= 0),
  unit           TEXT NOT NULL,
  utc_us         INTEGER NOT NULL,
  boot_id        INTEGER REFERENCES boot,
  tick           INTEGER CHECK (tick >= 0),
  made_utc_us    INTEGER NOT NULL,
  author         TEXT NOT NULL,
  remark         TEXT NOT NULL,
  retired_utc_us INTEGER,
  retired_remark TEXT,
  CHECK ((boot_id IS NULL) = (tick IS NULL)),
  CHECK ((retired_utc_us IS NULL) = (retired_remark IS NULL))
) STRICT;
CREATE INDEX entered_by_name ON entered(rig_id, name, utc_us, entered_id) WHERE retired_utc_us IS NULL;
${frozen('entered', 'entered_id', ['rig_id', 'name', 'value', 'u', 'unit', 'utc_us', 'boot_id', 'tick', 'made_utc_us', 'author', 'remark'], ['retired_utc_us', 'retired_remark'])}
${ofItsRig('entered', 'boot_id')}

CREATE TABLE run(
  -- A named span of the record. Its name, note and whether it is archived may change; run_history keeps what they were.
  run_id      INTEGER PRIMARY KEY,
  rig_id      INTEGER NOT NULL REFERENCES rig,
  name        TEXT NOT NULL,
  note        TEXT NOT NULL DEFAULT '',
  archived    INTEGER NOT NULL DEFAULT 0 CHECK (archived IN (0, 1)),
  made_utc_us INTEGER NOT NULL,
  author      TEXT NOT NULL
) STRICT;

CREATE TABLE run_span(
  -- Both ends belong to it. tick_to NULL: it goes on.
  run_id    INTEGER NOT NULL REFERENCES run,
  boot_id   INTEGER NOT NULL REFERENCES boot,
  tick_from INTEGER NOT NULL CHECK (tick_from >= 0),
  tick_to   INTEGER CHECK (tick_to >= tick_from),
  PRIMARY KEY (run_id, boot_id, tick_from)
) STRICT, WITHOUT ROWID;
CREATE INDEX run_span_by_place ON run_span(boot_id, tick_from);

CREATE TABLE run_history(
  -- before: name, note, archived and spans as they were until utc_us, as JSON.
  change_id INTEGER PRIMARY KEY,
  run_id    INTEGER NOT NULL REFERENCES run,
  utc_us    INTEGER NOT NULL,
  author    TEXT NOT NULL,
  before    TEXT NOT NULL CHECK (json_valid(before))
) STRICT;
${frozen('run_history', 'change_id', ['run_id', 'utc_us', 'author', 'before'])}

CREATE TABLE result(
  -- A value with its uncertainty, as it was worked out at made_utc_us by that version of this program, from what it names.
  -- dof NULL: as good as infinite. expanded: half the 95 % interval. superseded_by: the result that took its place; both stay.
  result_id     INTEGER PRIMARY KEY,
  run_id        INTEGER NOT NULL REFERENCES run,
  name          TEXT NOT NULL,
  unit          TEXT NOT NULL,
  value         REAL,
  reason        TEXT,
  u             REAL CHECK (u >= 0),
  dof           REAL CHECK (dof > 0),
  expanded      REAL CHECK (expanded >= 0),
  verified      INTEGER NOT NULL CHECK (verified IN (0, 1)),
  why           TEXT,
  budget        TEXT NOT NULL CHECK (json_valid(budget)),
  zero_ids      TEXT NOT NULL CHECK (json_valid(zero_ids)),
  check_ids     TEXT NOT NULL CHECK (json_valid(check_ids)),
  entered_ids   TEXT NOT NULL CHECK (json_valid(entered_ids)),
  made_utc_us   INTEGER NOT NULL,
  version       TEXT NOT NULL,
  superseded_by INTEGER REFERENCES result,
  CHECK ((value IS NULL) = (u IS NULL)),
  CHECK (value IS NOT NULL OR reason IS NOT NULL),
  CHECK (verified = 1 OR why IS NOT NULL),
  CHECK (superseded_by > result_id)
) STRICT;
CREATE INDEX result_of_run ON result(run_id, name, result_id);
${frozen('result', 'result_id', ['run_id', 'name', 'unit', 'value', 'reason', 'u', 'dof', 'expanded', 'verified', 'why', 'budget', 'zero_ids', 'check_ids', 'entered_ids', 'made_utc_us', 'version'], ['superseded_by'])}

CREATE TABLE result_uses(
  result_id INTEGER NOT NULL REFERENCES result,
  cal_id    INTEGER NOT NULL REFERENCES calibration,
  PRIMARY KEY (result_id, cal_id)
) STRICT, WITHOUT ROWID;
CREATE INDEX result_uses_calibration ON result_uses(cal_id, result_id);
CREATE TRIGGER result_uses_stays BEFORE DELETE ON result_uses BEGIN SELECT RAISE(ABORT, 'a row of result_uses is never deleted'); END;
CREATE TRIGGER result_uses_frozen BEFORE UPDATE ON result_uses BEGIN SELECT RAISE(ABORT, 'a row of result_uses is never changed'); END;
`,
};

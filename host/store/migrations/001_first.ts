import type { Migration } from './index.js';

/**
 * Never edited once released: a later change is a later file.
 *
 * A raw row is known by (boot_id, tick) and nothing else: no time of any clock that
 * can be set is part of a key, so setting a clock can neither reorder, double nor
 * lose a row. Without rowid a row costs 20 to 23 bytes.
 */
export const first: Migration = {
  number: 1,
  says: 'rig, boot, clock map, raw force, edge and status, gaps',
  sql: `
CREATE TABLE origin(
  -- One row, written with the first boot: real and simulated records never share a file.
  id           INTEGER PRIMARY KEY CHECK (id = 1),
  simulated    INTEGER NOT NULL CHECK (simulated IN (0, 1)),
  since_utc_us INTEGER NOT NULL
) STRICT;

CREATE TABLE rig(
  -- One board with its brake and sensors. board_id 4294967295: a board that was never given an id.
  rig_id            INTEGER PRIMARY KEY,
  board_id          INTEGER NOT NULL UNIQUE,
  name              TEXT,
  magnets           INTEGER NOT NULL DEFAULT 1 CHECK (magnets BETWEEN 1 AND 64),
  -- Where it was last found: where to look first, never who it is.
  last_port         TEXT,
  first_seen_utc_us INTEGER NOT NULL
) STRICT;

CREATE TABLE boot(
  -- The stretch of board time from one reset to the next. boot_id is issued by the host and
  -- rises; it is never reused. board_boot is the board's own counter, evidence only.
  -- started_utc_us is what the host's clock said; samples are dated by clock_map alone.
  boot_id         INTEGER PRIMARY KEY AUTOINCREMENT,
  rig_id          INTEGER NOT NULL REFERENCES rig,
  board_id        INTEGER NOT NULL,
  board_boot      INTEGER NOT NULL,
  simulated       INTEGER NOT NULL CHECK (simulated IN (0, 1)),
  schema_hash     INTEGER NOT NULL,
  firmware        INTEGER NOT NULL,
  clock_Hz        INTEGER NOT NULL CHECK (clock_Hz > 0),
  cycles_per_tick INTEGER NOT NULL CHECK (cycles_per_tick > 0),
  reset_cause     INTEGER NOT NULL,
  tick_first      INTEGER NOT NULL,
  started_utc_us  INTEGER NOT NULL
) STRICT;
CREATE INDEX boot_by_board ON boot(board_id, boot_id);

CREATE TRIGGER boot_of_one_origin BEFORE INSERT ON boot
WHEN NEW.simulated IS NOT (SELECT simulated FROM origin)
BEGIN SELECT RAISE(ABORT, 'real and simulated boots do not share a file'); END;

CREATE TABLE clock_map(
  -- utc_us + (tick - tick_from) * us_per_tick, for the last tick_from <= tick; u_us: standard uncertainty.
  boot_id     INTEGER NOT NULL REFERENCES boot,
  tick_from   INTEGER NOT NULL,
  utc_us      INTEGER NOT NULL,
  us_per_tick REAL NOT NULL CHECK (us_per_tick > 0),
  u_us        REAL NOT NULL CHECK (u_us >= 0),
  PRIMARY KEY (boot_id, tick_from)
) STRICT, WITHOUT ROWID;

CREATE TABLE force_raw(
  -- flags: 0 good; 1 desync, 2 timeout, 4 saturated, 8 settling, 16 late. A flagged count is no measurement.
  boot_id INTEGER NOT NULL REFERENCES boot,
  tick    INTEGER NOT NULL CHECK (tick >= 0),
  count   INTEGER NOT NULL,
  flags   INTEGER NOT NULL,
  PRIMARY KEY (boot_id, tick)
) STRICT, WITHOUT ROWID;

CREATE TABLE edge_raw(
  boot_id INTEGER NOT NULL REFERENCES boot,
  tick    INTEGER NOT NULL CHECK (tick >= 0),
  flags   INTEGER NOT NULL,
  PRIMARY KEY (boot_id, tick)
) STRICT, WITHOUT ROWID;

CREATE TABLE status_raw(
  -- Loss counters run since reset and stop at 65535; loop_max_tick is since the status before.
  boot_id             INTEGER NOT NULL REFERENCES boot,
  tick                INTEGER NOT NULL CHECK (tick >= 0),
  wraps               INTEGER NOT NULL,
  lines_dropped       INTEGER NOT NULL,
  edges_lost          INTEGER NOT NULL,
  captures_overrun    INTEGER NOT NULL,
  forces_lost         INTEGER NOT NULL,
  bridge_desyncs      INTEGER NOT NULL,
  bridge_timeouts     INTEGER NOT NULL,
  rx_overruns         INTEGER NOT NULL,
  rx_framings         INTEGER NOT NULL,
  rx_bad_lines        INTEGER NOT NULL,
  loop_max_tick       INTEGER NOT NULL,
  stack_free_min_byte INTEGER NOT NULL,
  eeprom_state        INTEGER NOT NULL,
  PRIMARY KEY (boot_id, tick)
) STRICT, WITHOUT ROWID;

CREATE TABLE gap(
  -- cause sequence: the numbers on the wire skip; tick_from and tick_to are the messages on either side.
  -- cause queue: the host could not write and had to let go; they are the first and last message let go.
  boot_id   INTEGER NOT NULL REFERENCES boot,
  stream    TEXT NOT NULL,
  tick_from INTEGER NOT NULL,
  cause     TEXT NOT NULL CHECK (cause IN ('sequence', 'queue')),
  tick_to   INTEGER NOT NULL CHECK (tick_to >= tick_from),
  lost      INTEGER NOT NULL CHECK (lost > 0),
  PRIMARY KEY (boot_id, stream, tick_from, cause)
) STRICT, WITHOUT ROWID;

CREATE TABLE tally(
  -- Kept in the same transaction as the rows, since counting a year of rows takes minutes.
  boot_id    INTEGER NOT NULL REFERENCES boot,
  stream     TEXT NOT NULL,
  rows       INTEGER NOT NULL,
  duplicates INTEGER NOT NULL,
  tick_last  INTEGER NOT NULL,
  PRIMARY KEY (boot_id, stream)
) STRICT, WITHOUT ROWID;
`,
};

import type { Migration } from './index.js';

/** The rest of what the board measures, keyed as the first raw rows are. */
export const wide: Migration = {
  number: 3,
  says: 'raw hot end, water, flow, mark and setting',
  sql: `
CREATE TABLE hot_raw(
  -- The thermocouple converter's own 32 bits; the view hot says what they mean.
  boot_id INTEGER NOT NULL REFERENCES boot,
  tick    INTEGER NOT NULL CHECK (tick >= 0),
  word    INTEGER NOT NULL CHECK (word BETWEEN 0 AND 4294967295),
  PRIMARY KEY (boot_id, tick)
) STRICT, WITHOUT ROWID;

CREATE TABLE water_raw(
  -- Sums of 64 conversions of 10 bits, and largest less smallest of them; a spread stops at 255.
  boot_id      INTEGER NOT NULL REFERENCES boot,
  tick         INTEGER NOT NULL CHECK (tick >= 0),
  in_sum       INTEGER NOT NULL,
  out_sum      INTEGER NOT NULL,
  skin_sum     INTEGER NOT NULL,
  spare_sum    INTEGER NOT NULL,
  in_spread    INTEGER NOT NULL,
  out_spread   INTEGER NOT NULL,
  skin_spread  INTEGER NOT NULL,
  spare_spread INTEGER NOT NULL,
  PRIMARY KEY (boot_id, tick)
) STRICT, WITHOUT ROWID;

CREATE TABLE flow_raw(
  -- pulse_tick and pulses have the wraps added on receipt, as tick has; their low 32 and 16 bits are what came.
  -- pulse_tick is NULL before the first pulse since reset. A pulse that came while the line was being put together is
  -- in it already, so pulse_tick may lie a few ticks after tick.
  boot_id    INTEGER NOT NULL REFERENCES boot,
  tick       INTEGER NOT NULL CHECK (tick >= 0),
  pulse_tick INTEGER CHECK (pulse_tick >= 0),
  pulses     INTEGER NOT NULL CHECK (pulses >= 0),
  PRIMARY KEY (boot_id, tick)
) STRICT, WITHOUT ROWID;

CREATE TABLE mark_raw(
  boot_id INTEGER NOT NULL REFERENCES boot,
  tick    INTEGER NOT NULL CHECK (tick >= 0),
  PRIMARY KEY (boot_id, tick)
) STRICT, WITHOUT ROWID;

CREATE TABLE setting_raw(
  -- Answers to set and to ask_setting; the view setting has the names.
  boot_id INTEGER NOT NULL REFERENCES boot,
  tick    INTEGER NOT NULL CHECK (tick >= 0),
  key     INTEGER NOT NULL,
  value   INTEGER NOT NULL,
  result  INTEGER NOT NULL,
  PRIMARY KEY (boot_id, tick)
) STRICT, WITHOUT ROWID;
`,
};

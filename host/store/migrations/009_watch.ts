import { iso } from './002_views.js';
import { frozen } from './005_calibrations.js';
import type { Migration } from './index.js';

const simulated = `(SELECT simulated FROM origin)`;
const one = (change: string, column: string): string => `(SELECT ${column} FROM alarm c WHERE c.alarm_id = r.alarm_id AND c.change = '${change}' ORDER BY c.event_id DESC LIMIT 1)`;

export const watch: Migration = {
  number: 9,
  says: 'the log of the watch and its limits',
  sql: `
CREATE TABLE alarm(
  -- One change of one alarm; alarm_id is the same for all changes of one. level: the worst that it had come to. value, limit_value: in
  -- unit, where there is a number. says: what was wrong and what to look at. boot_id, tick: where the record was then. author: who
  -- acknowledged or muted.
  event_id    INTEGER PRIMARY KEY,
  alarm_id    INTEGER NOT NULL CHECK (alarm_id > 0),
  name        TEXT NOT NULL CHECK (name <> ''),
  cause       TEXT NOT NULL CHECK (cause IN ('engine', 'instrument')),
  change      TEXT NOT NULL CHECK (change IN ('raised', 'rose', 'gone', 'back', 'acknowledged', 'muted', 'unmuted', 'cleared')),
  level       TEXT NOT NULL CHECK (level IN ('warn', 'alarm')),
  utc_us      INTEGER NOT NULL,
  boot_id     INTEGER REFERENCES boot,
  tick        INTEGER CHECK (tick >= 0),
  value       REAL,
  limit_value REAL,
  unit        TEXT NOT NULL,
  says        TEXT NOT NULL,
  author      TEXT CHECK (author IS NOT NULL OR change NOT IN ('acknowledged', 'muted', 'unmuted'))
) STRICT;
CREATE INDEX alarm_of ON alarm(alarm_id, event_id);
${frozen('alarm', 'event_id', ['alarm_id', 'name', 'cause', 'change', 'level', 'utc_us', 'boot_id', 'tick', 'value', 'limit_value', 'unit', 'says', 'author'])}

CREATE TABLE watch_limit(
  -- One telling of a limit of the watch; the last of a name holds. value NULL: back to the preset.
  told_id     INTEGER PRIMARY KEY,
  rig_id      INTEGER NOT NULL REFERENCES rig,
  name        TEXT NOT NULL CHECK (name <> ''),
  value       REAL,
  made_utc_us INTEGER NOT NULL,
  author      TEXT NOT NULL,
  remark      TEXT NOT NULL DEFAULT ''
) STRICT;
CREATE INDEX watch_limit_of ON watch_limit(rig_id, told_id);
${frozen('watch_limit', 'told_id', ['rig_id', 'name', 'value', 'made_utc_us', 'author', 'remark'])}

CREATE VIEW alarms AS
-- Every alarm of the watch, from when it was raised until it was acknowledged and its cause was gone (cleared). level: the worst that it
-- came to. value and limit_value: in unit, when it was raised. gone NULL: its cause is still there, or came back. The watch advises; a
-- cut-out must be independent hardware.
SELECT r.alarm_id, r.name, r.cause,
  CASE WHEN EXISTS (SELECT 1 FROM alarm c WHERE c.alarm_id = r.alarm_id AND c.level = 'alarm') THEN 'alarm' ELSE 'warn' END AS level,
  r.utc_us, ${iso('r.utc_us')} AS t, r.boot_id, r.tick, r.value, r.limit_value, r.unit, r.says,
  CASE WHEN ${one('gone', 'c.event_id')} > coalesce(${one('back', 'c.event_id')}, 0) THEN ${iso(one('gone', 'c.utc_us'))} END AS gone,
  CASE WHEN ${one('acknowledged', 'c.event_id')} > max(coalesce(${one('back', 'c.event_id')}, 0), coalesce(${one('rose', 'c.event_id')}, 0)) THEN ${iso(one('acknowledged', 'c.utc_us'))} END AS acknowledged,
  CASE WHEN ${one('acknowledged', 'c.event_id')} > max(coalesce(${one('back', 'c.event_id')}, 0), coalesce(${one('rose', 'c.event_id')}, 0)) THEN ${one('acknowledged', 'c.author')} END AS acknowledged_by,
  ${iso(one('cleared', 'c.utc_us'))} AS cleared, ${simulated} AS simulated
FROM alarm r WHERE r.change = 'raised';
`,
};

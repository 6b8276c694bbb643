import type { Migration } from './index.js';

/**
 * What plain `sqlite3` reads: SI units in the column names, no extension, SQLite
 * 3.38 or later. Every view flattens into key look-ups, without a window function or
 * a subquery that must be built first, so a range of (boot_id, tick) or
 * `ORDER BY boot_id DESC, tick DESC LIMIT n` costs as many rows as it returns.
 * (lag() would walk a whole boot before it could cut out ten seconds.)
 */

/** The piece of the clock map that dates row `r`; rows from before the first piece are dated by the first. */
export const piece = (r: string): string => `
LEFT JOIN clock_map m ON m.boot_id = ${r}.boot_id AND m.tick_from = coalesce(
  (SELECT max(p.tick_from) FROM clock_map p WHERE p.boot_id = ${r}.boot_id AND p.tick_from <= ${r}.tick),
  (SELECT min(p.tick_from) FROM clock_map p WHERE p.boot_id = ${r}.boot_id))`;

export const utc = (tick: string): string => `CAST(round(m.utc_us + (${tick} - m.tick_from) * m.us_per_tick) AS INTEGER)`;

export const iso = (utc_us: string): string => `strftime('%Y-%m-%dT%H:%M:%fZ', (${utc_us}) / 1e6, 'unixepoch')`;

/** Where the record of edges before e begins: behind the last hole. */
const wholeSince = `coalesce((SELECT g.tick_to FROM gap g WHERE g.boot_id = e.boot_id AND g.stream = 'edge' AND g.tick_from < e.tick
  ORDER BY g.tick_from DESC LIMIT 1), 0)`;

/** The edge before e; NULL when there is none, or when a hole lies between. */
const edgeBefore = `(SELECT max(p.tick) FROM edge_raw p WHERE p.boot_id = e.boot_id AND p.tick < e.tick AND p.tick >= ${wholeSince})`;

/** The edge one revolution before e, walked to step by step, since OFFSET takes no column. */
export const revolutionBefore = `(
    WITH RECURSIVE back(n, tick) AS (
      SELECT 0, e.tick UNION ALL
      SELECT n + 1, (SELECT max(p.tick) FROM edge_raw p WHERE p.boot_id = e.boot_id AND p.tick < back.tick)
      FROM back WHERE n < r.magnets AND back.tick IS NOT NULL)
    SELECT back.tick FROM back WHERE n = r.magnets AND back.tick >= ${wholeSince})`;

export const us_per_tick = `coalesce(m.us_per_tick, 1e6 * b.cycles_per_tick / b.clock_Hz)`;

export const bits = (column: string, names: readonly string[]): string =>
  `rtrim(${names.map((n, i) => `CASE WHEN ${column} & ${1 << i} THEN '${n} ' ELSE '' END`).join(' || ')})`;

export const views: Migration = {
  number: 2,
  says: 'views in SI units',
  sql: `
CREATE VIEW force AS
-- Load cell conversions. count is NULL where flags say that it is no measurement; the raw count stays in force_raw.
SELECT ${utc('f.tick')} AS utc_us, ${iso(utc('f.tick'))} AS t, f.boot_id, f.tick,
  CASE WHEN f.flags = 0 THEN f.count END AS count, f.flags, b.simulated
FROM force_raw f JOIN boot b ON b.boot_id = f.boot_id ${piece('f')};

CREATE VIEW edge AS
-- Edges of the shaft pickup. period_s: since the edge before, by the corrected clock of the board; NULL across a loss.
SELECT ${utc('e.tick')} AS utc_us, ${iso(utc('e.tick'))} AS t, e.boot_id, e.tick,
  (e.tick - ${edgeBefore}) * ${us_per_tick} / 1e6 AS period_s, e.flags, b.simulated
FROM edge_raw e JOIN boot b ON b.boot_id = e.boot_id ${piece('e')};

CREATE VIEW speed AS
-- Shaft speed over the whole revolution that ends at this edge: rig.magnets edges, so unequal spacing cancels.
SELECT s.utc_us, ${iso('s.utc_us')} AS t, s.boot_id, s.tick, s.revolution_s AS period_s, 60 / s.revolution_s AS speed_rpm, s.simulated
FROM (
  SELECT ${utc('e.tick')} AS utc_us, e.boot_id, e.tick,
    (e.tick - ${revolutionBefore}) * ${us_per_tick} / 1e6 AS revolution_s, b.simulated
  FROM edge_raw e JOIN boot b ON b.boot_id = e.boot_id JOIN rig r ON r.rig_id = b.rig_id ${piece('e')}
) s;

CREATE VIEW board_status AS
-- What the board says about itself, once a second. Counts of losses run since its reset.
SELECT ${utc('s.tick')} AS utc_us, ${iso(utc('s.tick'))} AS t, s.*, s.loop_max_tick * ${us_per_tick} AS loop_max_us, b.simulated
FROM status_raw s JOIN boot b ON b.boot_id = s.boot_id ${piece('s')};

CREATE VIEW boots AS
-- Stretches of board time, newest last. started is when the board was reset, by the host's clock at the first hello.
SELECT b.boot_id, printf('%04X-%04X', b.board_id >> 16, b.board_id & 65535) AS board, b.board_boot, ${iso('b.started_utc_us')} AS started, b.simulated,
  (b.firmware >> 16) || '.' || ((b.firmware >> 8) & 255) || '.' || (b.firmware & 255) AS firmware,
  ${bits('b.reset_cause', ['power_on', 'external', 'brown_out', 'watchdog'])} AS reset_cause,
  r.magnets, r.name AS rig,
  coalesce((SELECT rows FROM tally t WHERE t.boot_id = b.boot_id AND t.stream = 'force'), 0) AS force_rows,
  coalesce((SELECT rows FROM tally t WHERE t.boot_id = b.boot_id AND t.stream = 'edge'), 0) AS edge_rows,
  (SELECT (max(t.tick_last) - b.tick_first) * 1.0 * b.cycles_per_tick / b.clock_Hz FROM tally t WHERE t.boot_id = b.boot_id) AS recorded_s,
  coalesce((SELECT sum(lost) FROM gap g WHERE g.boot_id = b.boot_id), 0) AS lost
FROM boot b JOIN rig r ON r.rig_id = b.rig_id;

CREATE VIEW gaps AS
-- Every loss that could be counted: where, how long, how many messages.
SELECT g.utc_us, ${iso('g.utc_us')} AS t, g.boot_id, g.stream, g.cause, g.tick_from, g.tick_to, g.duration_s, g.lost, g.simulated
FROM (
  SELECT ${utc('g.tick')} AS utc_us, g.*, (g.tick_to - g.tick) * ${us_per_tick} / 1e6 AS duration_s, b.simulated
  FROM (SELECT boot_id, stream, cause, tick_from, tick_from AS tick, tick_to, lost FROM gap) g
  JOIN boot b ON b.boot_id = g.boot_id ${piece('g')}
) g;
`,
};

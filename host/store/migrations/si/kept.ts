import { CHECK_WITHIN_h } from '../../../sense/load/check.js';
import { ZEROS_APART_h } from '../../../sense/load/zero.js';
import { inForceSql } from '../../records/in_force.js';
import { placeUtcSql } from '../../records/place.js';
import { iso } from '../002_views.js';

/** The newest place of a rig. */
const newestBoot = (rig: string): string => `(SELECT max(boot_id) FROM boot WHERE rig_id = ${rig})`;
export const newestTick = (boot: string): string => `coalesce((SELECT max(tick_last) FROM tally WHERE boot_id = ${boot}), (SELECT tick_first FROM boot WHERE boot_id = ${boot}))`;
export const simulated = `(SELECT simulated FROM origin)`;
const channels = ['load', 'speed', 'hot', 'coolant_in', 'coolant_out', 'skin', 'coolant_match', 'flow'];

export const kept = `
CREATE VIEW calibration_in_force AS
-- The version of each channel that holds at the newest place of its rig; a channel without one has no row.
SELECT g.rig_id, k.channel, k.cal_id, k.kind, ${iso('k.made_utc_us')} AS made, k.author, k.remark, k.c0, k.c1, k.c2, k.c3, ${simulated} AS simulated
FROM (SELECT rig_id, boot_id, ${newestTick('boot_id')} AS tick FROM (SELECT rig_id, ${newestBoot('rig.rig_id')} AS boot_id FROM rig)) g
JOIN calibration k ON k.cal_id IN (${channels.map((c) => inForceSql('g.rig_id', c, 'g.boot_id', 'g.tick')).join(', ')});

CREATE VIEW calibrations AS
-- Every version that was ever kept. It holds from_t up to to_t (NULL: until further notice), where no later one does. replaced_by: the
-- last correction of it that stands. in_force: 1 where it holds at the newest place of its rig. retired: when it was taken back.
SELECT k.cal_id, k.rig_id, k.channel, k.kind, ${iso(placeUtcSql('k.boot_from', 'k.tick_from'))} AS from_t,
  CASE WHEN k.boot_to IS NOT NULL THEN ${iso(placeUtcSql('k.boot_to', 'k.tick_to'))} END AS to_t,
  k.boot_from, k.tick_from, k.boot_to, k.tick_to, ${iso('k.made_utc_us')} AS made, k.author, k.remark, k.replaces,
  (SELECT max(v.cal_id) FROM calibration v WHERE v.replaces = k.cal_id AND v.retired_utc_us IS NULL) AS replaced_by,
  CASE WHEN k.retired_utc_us IS NOT NULL THEN ${iso('k.retired_utc_us')} END AS retired, k.retired_remark,
  EXISTS (SELECT 1 FROM calibration_in_force f WHERE f.rig_id = k.rig_id AND f.cal_id = k.cal_id) AS in_force, ${simulated} AS simulated
FROM calibration k;

CREATE VIEW zeros AS
-- Every zero that was taken: mean count, random standard uncertainty of that mean, how many conversions. retired: it was found to be none.
SELECT z.zero_id, z.rig_id, z.utc_us, ${iso('z.utc_us')} AS t, z.boot_id, z.tick, z.tick_from, z.tick_to, z.count, z.u_count, z.n, z.author, z.remark,
  CASE WHEN z.retired_utc_us IS NOT NULL THEN ${iso('z.retired_utc_us')} END AS retired, z.retired_remark, ${simulated} AS simulated
FROM zero z;

CREATE VIEW checks AS
-- Every check mass that was hung: what the calibration expected and what was read, in unit. passed NULL: no calibration to read it by.
SELECT c.check_id, c.rig_id, c.utc_us, ${iso('c.utc_us')} AS t, c.boot_id, c.tick, c.nominal_kg, c.expected, c.read, c.read - c.expected AS difference, c.unit, c.passed,
  c.cal_id, c.count, c.u_count, c.n, c.author, c.remark,
  CASE WHEN c.retired_utc_us IS NOT NULL THEN ${iso('c.retired_utc_us')} END AS retired, c.retired_remark, ${simulated} AS simulated
FROM check_mass c;

CREATE VIEW entered_now AS
-- The last value of each name that was read off another instrument and typed in, with its standard uncertainty in the same unit. age_h: by
-- this computer's clock.
SELECT e.rig_id, e.name, e.value, e.u, e.unit, e.utc_us, ${iso('e.utc_us')} AS t, ((julianday('now') - 2440587.5) * 86400e6 - e.utc_us) / 3600e6 AS age_h,
  e.entered_id, e.author, e.remark, ${simulated} AS simulated
FROM entered e WHERE e.entered_id = (
  SELECT l.entered_id FROM entered l WHERE l.rig_id = e.rig_id AND l.name = e.name AND l.retired_utc_us IS NULL ORDER BY l.utc_us DESC, l.entered_id DESC LIMIT 1);

CREATE VIEW results AS
-- Every result that was worked out, the superseded ones too. u: standard uncertainty; expanded: half the 95 % interval; both in unit. dof
-- NULL: as good as infinite. cal_ids: what it used; stale: 1 where one of them was corrected or retired since. Where value is NULL
-- reason says why; where verified is 0, why says.
SELECT r.result_id, r.run_id, n.name AS run, r.name, r.value, r.u, r.dof, r.expanded, r.unit, r.reason, r.verified, r.why,
  (SELECT json_group_array(u.cal_id) FROM result_uses u WHERE u.result_id = r.result_id) AS cal_ids, r.zero_ids, r.check_ids, r.entered_ids,
  EXISTS (SELECT 1 FROM result_uses u JOIN calibration k ON k.cal_id = u.cal_id WHERE u.result_id = r.result_id
    AND (k.retired_utc_us IS NOT NULL OR EXISTS (SELECT 1 FROM calibration v WHERE v.replaces = k.cal_id AND v.retired_utc_us IS NULL))) AS stale,
  ${iso('r.made_utc_us')} AS made, r.version, r.superseded_by, ${simulated} AS simulated
FROM result r JOIN run n ON n.run_id = r.run_id;
`;

/** The zeros that enclose the run s: the last at or before its start, the first at or after its end, of those that stand. */
export const enclosing = (side: 'before' | 'after', column: string): string => {
  const [boot, tick, order, way] = side === 'before' ? ['s.boot_a', 's.tick_a', '<=', 'DESC'] : ['s.boot_z', 's.tick_z', '>=', 'ASC'];
  return `(SELECT ${column} FROM zero z WHERE z.rig_id = s.rig_id AND z.retired_utc_us IS NULL AND (z.boot_id, z.tick) ${order} (${boot}, ${tick})
      AND ${inForceSql('z.rig_id', 'load', 'z.boot_id', 'z.tick')} = ${inForceSql('s.rig_id', 'load', boot, tick)}
      ORDER BY z.boot_id ${way}, z.tick ${way}, z.zero_id ${way} LIMIT 1)`;
};
/** From one of them to the next, on the way through the run, too long a time passes. */
export const zerosApart = `EXISTS (SELECT 1 FROM zero p WHERE p.rig_id = s.rig_id AND p.retired_utc_us IS NULL AND p.utc_us BETWEEN ${enclosing('before', 'z.utc_us')} AND ${enclosing('after', 'z.utc_us')} - 1
      AND coalesce((SELECT min(n.utc_us) FROM zero n WHERE n.rig_id = s.rig_id AND n.retired_utc_us IS NULL AND n.utc_us > p.utc_us), p.utc_us) - p.utc_us > ${ZEROS_APART_h * 3600}e6)`;
export const checkNear = (passed: 0 | 1): string => `EXISTS (SELECT 1 FROM check_mass c WHERE c.rig_id = s.rig_id AND c.retired_utc_us IS NULL AND c.passed = ${passed}
      AND c.utc_us BETWEEN s.from_us - ${CHECK_WITHIN_h * 3600}e6 AND s.to_us + ${CHECK_WITHIN_h * 3600}e6)`;

export const runs = `
CREATE VIEW runs AS
-- Named spans of the record. verified: 1 with a zero before and one after, under the calibration of the run and with at most ${ZEROS_APART_h} h from
-- one zero to the next, and a check mass that passed at most ${CHECK_WITHIN_h} h off; else 0, and why says what is missing: no_span, no_calibration,
-- no_zero_before, no_zero_after, zeros_apart, no_check_mass, check_failed. recorded_s: the spans together. going_on: 1 until it is ended.
SELECT w.run_id, w.rig_id, w.name, w.note, w.archived, ${iso('w.from_us')} AS from_t, ${iso('w.to_us')} AS to_t, w.recorded_s, w.going_on, w.why IS NULL AS verified, w.why,
  ${iso('w.made_utc_us')} AS made, w.author, ${simulated} AS simulated
FROM (SELECT s.*, CASE WHEN s.boot_a IS NULL THEN 'no_span' WHEN ${inForceSql('s.rig_id', 'load', 's.boot_a', 's.tick_a')} IS NULL THEN 'no_calibration'
    WHEN ${enclosing('before', 'z.zero_id')} IS NULL THEN 'no_zero_before' WHEN ${enclosing('after', 'z.zero_id')} IS NULL THEN 'no_zero_after'
    WHEN ${zerosApart} THEN 'zeros_apart' WHEN ${checkNear(0)} THEN 'check_failed' WHEN NOT ${checkNear(1)} THEN 'no_check_mass' END AS why
  FROM (SELECT g.*, ${placeUtcSql('g.boot_a', 'g.tick_a')} AS from_us, ${placeUtcSql('g.boot_z', 'g.tick_z')} AS to_us
    FROM (SELECT r.*, a.boot_id AS boot_a, a.tick_from AS tick_a, z.boot_id AS boot_z, coalesce(z.tick_to, ${newestTick('z.boot_id')}) AS tick_z,
        EXISTS (SELECT 1 FROM run_span o WHERE o.run_id = r.run_id AND o.tick_to IS NULL) AS going_on,
        (SELECT sum((coalesce(o.tick_to, ${newestTick('o.boot_id')}) - o.tick_from) * 1.0 * b.cycles_per_tick / b.clock_Hz)
          FROM run_span o JOIN boot b ON b.boot_id = o.boot_id WHERE o.run_id = r.run_id) AS recorded_s
      FROM run r
      LEFT JOIN run_span a ON a.run_id = r.run_id AND (a.boot_id, a.tick_from) = (SELECT f.boot_id, f.tick_from FROM run_span f WHERE f.run_id = r.run_id ORDER BY f.boot_id, f.tick_from LIMIT 1)
      LEFT JOIN run_span z ON z.run_id = r.run_id AND (z.boot_id, z.tick_from) = (SELECT l.boot_id, l.tick_from FROM run_span l WHERE l.run_id = r.run_id ORDER BY l.boot_id DESC, l.tick_from DESC LIMIT 1)
    ) g) s) w;
`;

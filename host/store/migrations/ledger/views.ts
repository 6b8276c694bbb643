import { CHECK_WITHIN_h } from '../../../sense/load/check.js';
import { ZEROS_APART_h } from '../../../sense/load/zero.js';
import { currentBuildSql } from '../../ledger/in_use.js';
import { inForceSql } from '../../records/in_force.js';
import { placeUtcSql } from '../../records/place.js';
import { iso } from '../002_views.js';
import { checkNear, enclosing, newestTick, simulated, zerosApart } from '../si/kept.js';

export const seconds = (ticks: string, boot: string): string => `(${ticks}) * 1.0 * ${boot}.cycles_per_tick / ${boot}.clock_Hz`;

/** What is left out, once where exclusions overlap each other, and only what lies within the spans. */
const excluded = `(SELECT coalesce(sum(${seconds('x.b - x.a', 'k')}), 0) FROM (
      SELECT e.boot_id, max(e.tick_from, o.tick_from, coalesce((SELECT max(p.tick_to) FROM run_exclusion p WHERE p.run_id = e.run_id AND p.boot_id = e.boot_id
          AND (p.tick_from < e.tick_from OR p.tick_from = e.tick_from AND p.exclusion < e.exclusion)), 0)) AS a,
        min(e.tick_to, coalesce(o.tick_to, ${newestTick('o.boot_id')})) AS b
      FROM run_exclusion e JOIN run_span o ON o.run_id = e.run_id AND o.boot_id = e.boot_id WHERE e.run_id = r.run_id) x
    JOIN boot k ON k.boot_id = x.boot_id WHERE x.b > x.a)`;

export const runViews = `
DROP VIEW runs;
CREATE VIEW runs AS
-- Named spans of the record, each on one build. verified: 1 with a zero before and one after, under the calibration of the run and with at most ${ZEROS_APART_h} h
-- from one zero to the next, and a check mass that passed at most ${CHECK_WITHIN_h} h off; else 0, and why says what is missing: no_span, no_calibration,
-- no_zero_before, no_zero_after, zeros_apart, no_check_mass, check_failed. zeros_enclose, check_passed (NULL: none near): the same, each by itself.
-- recorded_s: the spans together; excluded_s: of that, what is left out of points. going_on: 1 until it is ended.
SELECT w.run_id, w.rig_id, w.name, w.note, w.archived, w.build_id, (SELECT name FROM build WHERE build_id = w.build_id) AS build,
  ${iso('w.from_us')} AS from_t, ${iso('w.to_us')} AS to_t, w.from_us AS from_utc_us, w.to_us AS to_utc_us, w.recorded_s, w.excluded_s, w.going_on,
  w.why IS NULL AS verified, w.why, w.zeros_enclose, w.check_passed, ${iso('w.made_utc_us')} AS made, w.author, ${simulated} AS simulated
FROM (SELECT v.*, CASE WHEN v.boot_a IS NULL THEN 'no_span' WHEN v.cal_id IS NULL THEN 'no_calibration'
    WHEN v.zero_before IS NULL THEN 'no_zero_before' WHEN v.zero_after IS NULL THEN 'no_zero_after' WHEN v.apart THEN 'zeros_apart'
    WHEN v.check_passed = 0 THEN 'check_failed' WHEN v.check_passed IS NULL THEN 'no_check_mass' END AS why,
    v.zero_before IS NOT NULL AND v.zero_after IS NOT NULL AND NOT v.apart AS zeros_enclose
  FROM (SELECT s.*, ${inForceSql('s.rig_id', 'load', 's.boot_a', 's.tick_a')} AS cal_id,
      ${enclosing('before', 'z.zero_id')} AS zero_before, ${enclosing('after', 'z.zero_id')} AS zero_after, ${zerosApart} AS apart,
      CASE WHEN ${checkNear(0)} THEN 0 WHEN ${checkNear(1)} THEN 1 END AS check_passed
    FROM (SELECT g.*, ${placeUtcSql('g.boot_a', 'g.tick_a')} AS from_us, ${placeUtcSql('g.boot_z', 'g.tick_z')} AS to_us
      FROM (SELECT r.*, a.boot_id AS boot_a, a.tick_from AS tick_a, z.boot_id AS boot_z, coalesce(z.tick_to, ${newestTick('z.boot_id')}) AS tick_z,
          EXISTS (SELECT 1 FROM run_span o WHERE o.run_id = r.run_id AND o.tick_to IS NULL) AS going_on, ${excluded} AS excluded_s,
          (SELECT sum(${seconds(`coalesce(o.tick_to, ${newestTick('o.boot_id')}) - o.tick_from`, 'b')})
            FROM run_span o JOIN boot b ON b.boot_id = o.boot_id WHERE o.run_id = r.run_id) AS recorded_s
        FROM run r
        LEFT JOIN run_span a ON a.run_id = r.run_id AND (a.boot_id, a.tick_from) = (SELECT f.boot_id, f.tick_from FROM run_span f WHERE f.run_id = r.run_id ORDER BY f.boot_id, f.tick_from LIMIT 1)
        LEFT JOIN run_span z ON z.run_id = r.run_id AND (z.boot_id, z.tick_from) = (SELECT l.boot_id, l.tick_from FROM run_span l WHERE l.run_id = r.run_id ORDER BY l.boot_id DESC, l.tick_from DESC LIMIT 1)
      ) g) s) v) w;

CREATE VIEW marks AS
-- Every mark: remarks, and presses of the button that have no words yet (mark_id NULL). utc_us: by the clock map as it is known now.
SELECT m.mark_id, m.rig_id, m.utc_us, ${iso('m.utc_us')} AS t, m.boot_id, m.tick, m.text, m.source, m.pressed_boot_id, m.pressed_tick, m.archived, m.author, ${simulated} AS simulated
FROM (SELECT mark_id, rig_id, coalesce(${placeUtcSql('n.boot_id', 'n.tick')}, n.utc_us) AS utc_us, n.boot_id, n.tick, n.text, n.source, n.pressed_boot_id, n.pressed_tick, n.archived, n.author FROM mark_note n
  UNION ALL
  SELECT NULL, b.rig_id, ${placeUtcSql('p.boot_id', 'p.tick')}, p.boot_id, p.tick, '', 'button', p.boot_id, p.tick, 0, ''
  FROM mark_raw p JOIN boot b ON b.boot_id = p.boot_id
  WHERE NOT EXISTS (SELECT 1 FROM mark_note n WHERE n.pressed_boot_id = p.boot_id AND n.pressed_tick = p.tick)) m;

CREATE VIEW run_marks AS
-- The marks within each run, archived ones left out. into_run_s: recorded time of the run until then.
SELECT s.run_id, r.name AS run, m.mark_id, ${iso(placeUtcSql('m.boot_id', 'm.tick'))} AS t, m.boot_id, m.tick,
  (SELECT sum(${seconds('min(CASE WHEN o.boot_id = m.boot_id THEN m.tick ELSE 9007199254740991 END, coalesce(o.tick_to, m.tick)) - o.tick_from', 'b')})
    FROM run_span o JOIN boot b ON b.boot_id = o.boot_id WHERE o.run_id = s.run_id AND (o.boot_id, o.tick_from) <= (m.boot_id, m.tick)) AS into_run_s,
  m.text, m.source, ${simulated} AS simulated
FROM run_span s JOIN run r ON r.run_id = s.run_id
JOIN (SELECT n.mark_id, n.boot_id, n.tick, n.text, n.source FROM mark_note n WHERE n.archived = 0
  UNION ALL SELECT NULL, p.boot_id, p.tick, '', 'button' FROM mark_raw p
  WHERE NOT EXISTS (SELECT 1 FROM mark_note n WHERE n.pressed_boot_id = p.boot_id AND n.pressed_tick = p.tick)) m
  ON m.boot_id = s.boot_id AND m.tick >= s.tick_from AND m.tick <= coalesce(s.tick_to, 9007199254740991);

CREATE VIEW run_exclusions AS
-- Stretches of a run that are left out when points are looked for, and why.
SELECT e.run_id, r.name AS run, e.exclusion, ${iso(placeUtcSql('e.boot_id', 'e.tick_from'))} AS from_t, ${iso(placeUtcSql('e.boot_id', 'e.tick_to'))} AS to_t,
  ${seconds('e.tick_to - e.tick_from', 'b')} AS duration_s, e.reason, e.boot_id, e.tick_from, e.tick_to, ${simulated} AS simulated
FROM run_exclusion e JOIN run r ON r.run_id = e.run_id JOIN boot b ON b.boot_id = e.boot_id;

CREATE VIEW builds AS
-- The ledger: every state of the engine. copied_from: the build that its list of parts was copied from. mass_g: of the parts whose mass is told, parts_weighed of
-- them. current: 1 where the engine is that build from now on. turning_h: so far as it was counted.
SELECT b.build_id, b.name, l.name AS copied_from, (SELECT count(*) FROM build_part p WHERE p.build_id = b.build_id) AS parts,
  (SELECT sum(p.mass_g) FROM build_part p WHERE p.build_id = b.build_id) AS mass_g, (SELECT count(p.mass_g) FROM build_part p WHERE p.build_id = b.build_id) AS parts_weighed,
  (SELECT count(*) FROM run r WHERE r.build_id = b.build_id AND r.archived = 0) AS runs, coalesce(w.turning_h, 0.0) AS turning_h,
  b.build_id IS ${currentBuildSql} AS current, b.note, b.archived, ${iso('b.made_utc_us')} AS made, b.author, ${simulated} AS simulated
FROM build b LEFT JOIN build l ON l.build_id = b.like_build_id LEFT JOIN build_wear w ON w.build_id = b.build_id;

CREATE VIEW build_parts AS
-- The parts of each build. part: its place in the engine; part_id: the piece itself, one number in all builds that it is in.
SELECT b.build_id, b.name AS build, p.name AS part, p.part_id, p.material, p.mass_g, p.dimensions, p.note, p.photo, p.made_by, p.made_on, ${simulated} AS simulated
FROM build_part p JOIN build b ON b.build_id = p.build_id;

CREATE VIEW build_changes AS
-- How each build differs from the one it was copied from, a row for each part and each thing about it: added, removed, material, mass_g, dimensions,
-- or piece (another one, which may be alike). parts_changed: how many parts differ; above 1, a difference of results has no one cause.
SELECT c.build_id, b.name AS build, l.name AS copied_from, c.part, c.what, c.before, c.after,
  count(*) FILTER (WHERE c.first) OVER (PARTITION BY c.build_id) AS parts_changed, ${simulated} AS simulated
FROM (SELECT d.*, row_number() OVER (PARTITION BY d.build_id, d.part ORDER BY d.what) = 1 AS first FROM (
    SELECT n.build_id, n.name AS part, 'added' AS what, NULL AS before, n.material AS after FROM build_part n JOIN build k ON k.build_id = n.build_id
      WHERE k.like_build_id IS NOT NULL AND NOT EXISTS (SELECT 1 FROM build_part o WHERE o.build_id = k.like_build_id AND o.name = n.name)
    UNION ALL
    SELECT k.build_id, o.name, 'removed', o.material, NULL FROM build_part o JOIN build k ON k.like_build_id = o.build_id
      WHERE NOT EXISTS (SELECT 1 FROM build_part n WHERE n.build_id = k.build_id AND n.name = o.name)
    ${(['material', 'mass_g', 'dimensions', 'part_id'] as const)
      .map((c) => `UNION ALL SELECT n.build_id, n.name, '${c === 'part_id' ? 'piece' : c}', CAST(o.${c} AS TEXT), CAST(n.${c} AS TEXT) FROM build_part n JOIN build k ON k.build_id = n.build_id
      JOIN build_part o ON o.build_id = k.like_build_id AND o.name = n.name WHERE o.${c} IS NOT n.${c}`)
      .join('\n    ')}) d) c
JOIN build b ON b.build_id = c.build_id JOIN build l ON l.build_id = b.like_build_id;

CREATE VIEW part_counters AS
-- What each piece has been through in all builds that it was in: revolutions, hours turning, heat cycles (hot end above 150 C by the converter and back below 80 C).
-- Counted while recording goes on, at most some minutes behind; counted_t: up to when.
SELECT p.part_id, (SELECT n.name FROM build_part n WHERE n.part_id = p.part_id ORDER BY n.build_id DESC LIMIT 1) AS part,
  (SELECT n.material FROM build_part n WHERE n.part_id = p.part_id ORDER BY n.build_id DESC LIMIT 1) AS material,
  (SELECT count(*) FROM (SELECT DISTINCT n.build_id FROM build_part n WHERE n.part_id = p.part_id)) AS builds,
  coalesce(sum(w.revolutions), 0.0) AS revolutions, coalesce(sum(w.turning_h), 0.0) AS turning_h, coalesce(sum(w.heat_cycles), 0) AS heat_cycles,
  ${iso('max(w.counted_utc_us)')} AS counted_t, ${simulated} AS simulated
FROM part p LEFT JOIN (SELECT DISTINCT part_id, build_id FROM build_part) i ON i.part_id = p.part_id LEFT JOIN build_wear w ON w.build_id = i.build_id GROUP BY p.part_id;
`;

/** A quantity as three columns: its value, its standard uncertainty and half of its 95 % interval, in the unit that its name ends with. */
export const told = (names: readonly string[], said: string): string =>
  names.map((n) => `json_extract(${said}, '$.${n}.value') AS ${n}, json_extract(${said}, '$.${n}.u') AS u_${n}, json_extract(${said}, '$.${n}.U95') AS U95_${n}`).join(',\n  ');

/** What stands in every view of something worked out. stale: a calibration that was used has been corrected or retired since. */
export const workedOf = (id: string): string => `d.cal_ids, EXISTS (SELECT 1 FROM json_each(d.cal_ids) u JOIN calibration k ON k.cal_id = u.value
    WHERE k.retired_utc_us IS NOT NULL OR EXISTS (SELECT 1 FROM calibration v WHERE v.replaces = k.cal_id AND v.retired_utc_us IS NULL)) AS stale,
  d.superseded_by IS NOT NULL AS superseded, d.${id}, d.version, ${iso('d.made_utc_us')} AS made, ${simulated} AS simulated`;
const worked = workedOf('reduction_id');
export const ofRun = `d.run_id, r.name AS run, (SELECT name FROM build WHERE build_id = r.build_id) AS build`;
const ofRunJoin = `JOIN reduction d ON d.reduction_id = x.reduction_id JOIN run r ON r.run_id = d.run_id`;

export const POINT_NAMES = ['torque_Nm', 'speed_rpm', 'power_W', 'hot_C', 'coolant_in_C', 'coolant_out_C', 'coolant_difference_K', 'flow_Lpmin', 'heat_W', 'heater_W', 'fuel_W'] as const;
export const CURVE_NAMES = ['peak_power_W', 'peak_speed_rpm', 'peak_torque_Nm', 'free_speed_rpm', 'stall_torque_Nm', 'last_stable_speed_rpm'] as const;
export const HEAT_NAMES = ['heat_in_W', 'coolant_heat_W', 'power_W', 'unaccounted_W', 'unaccounted_share', 'efficiency_least', 'efficiency_most', 'carnot_efficiency', 'carnot_share', 'beale_number', 'west_number'] as const;

export const resultViews = `
CREATE VIEW points AS
-- Steady conditions, averaged over whole revolutions. u_: standard uncertainty; U95_: half of the 95 % interval. heat_W: into the coolant; NULL: not measured,
-- and json said -> name -> reason says why. branch: up or down in load. superseded: 1 where the run was worked out anew since; stale: 1 where it should be.
SELECT x.point_id, ${ofRun}, x.n, ${iso(placeUtcSql('x.boot_id', 'x.tick_from'))} AS from_t, ${seconds('x.tick_to - x.tick_from', 'b')} AS duration_s, x.branch,
  ${told(POINT_NAMES, 'x.said')},
  x.revolutions, x.discarded, x.override, x.verified, x.why, x.boot_id, x.tick_from, x.tick_to, x.said, ${worked}
FROM point x JOIN boot b ON b.boot_id = x.boot_id ${ofRunJoin};

CREATE VIEW curves AS
-- Torque over speed of a run, as fitted. peak_: of the fitted curve, not of the highest point; stall_torque_Nm and free_speed_rpm only where they were reached.
-- state: what could be said, such as found, or no_top where power still rises at an end of the points.
SELECT x.curve_id, ${ofRun}, x.state, x.points, x.least_speed_rpm, x.most_speed_rpm,
  ${told(CURVE_NAMES, 'x.said')},
  x.verified, x.why, x.said, x.more, ${worked}
FROM curve x ${ofRunJoin};

CREATE VIEW heat AS
-- Heat balances. heat_in_W: heater or fuel; unaccounted_W: in less coolant less power. efficiency_least P / heat in, efficiency_most P / (P + coolant heat).
-- Shares and efficiencies are 1 at most. fault: why it cannot be so, which is a fault of an instrument.
SELECT x.heat_id, ${ofRun}, x.n, ${iso(placeUtcSql('x.boot_id', 'x.tick_from'))} AS from_t, ${seconds('x.tick_to - x.tick_from', 'b')} AS duration_s,
  ${told(HEAT_NAMES, 'x.said')},
  x.fault, x.verified, x.why, x.said, x.more, ${worked}
FROM heat_balance x JOIN boot b ON b.boot_id = x.boot_id ${ofRunJoin};

CREATE VIEW verdicts AS
-- Build b against build a: better, worse, same (within margin_share), cannot_tell. difference_share: b over a, less 1, with its 95 % interval.
-- look: how often the plan was looked at by then. needed_runs: a side, until a call is likely.
SELECT x.verdict_id, a.name AS build_a, b.name AS build_b, x.measure, x.word, x.difference_share, x.least_share, x.most_share, x.margin_share, x.runs_a, x.runs_b, x.look, x.needed_runs,
  x.run_ids, x.more, ${worked}
FROM verdict x JOIN reduction d ON d.reduction_id = x.reduction_id JOIN build a ON a.build_id = x.build_a JOIN build b ON b.build_id = x.build_b;
`;

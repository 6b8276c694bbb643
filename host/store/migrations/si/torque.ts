import { BEYOND_SHARE } from '../../../sense/load/reading.js';
import { ZEROS_APART_h } from '../../../sense/load/zero.js';
import { inForceSql } from '../../records/in_force.js';
import { bits, iso, piece, revolutionBefore, us_per_tick, utc } from '../002_views.js';

/** The zeros on either side of f, of those that stand: the last at or before it, the first after it. */
const zeroBefore = `(
    SELECT z.zero_id FROM zero z WHERE z.rig_id = b.rig_id AND z.retired_utc_us IS NULL AND (z.boot_id, z.tick) <= (f.boot_id, f.tick)
    ORDER BY z.boot_id DESC, z.tick DESC, z.zero_id DESC LIMIT 1)`;
const zeroAfter = `(
    SELECT z.zero_id FROM zero z WHERE z.rig_id = b.rig_id AND z.retired_utc_us IS NULL AND (z.boot_id, z.tick) > (f.boot_id, f.tick)
    ORDER BY z.boot_id, z.tick, z.zero_id LIMIT 1)`;

/** How far f is on the way from p to n: by board time within a boot, by UTC from one boot to another. */
const share = `CASE WHEN p.boot_id = n.boot_id THEN (f.tick - p.tick) * 1.0 / (n.tick - p.tick)
      WHEN n.utc_us > p.utc_us THEN min(1.0, max(0.0, (${utc('f.tick')} - p.utc_us) * 1.0 / (n.utc_us - p.utc_us))) ELSE 0.5 END`;

const zeroCount = `CASE WHEN p.zero_id IS NULL THEN coalesce(n.count, k.c0) WHEN n.zero_id IS NULL THEN p.count
      ELSE p.count + (n.count - p.count) * ${share} END`;

/** Each conversion with what it is read by; every join is by a key. */
const read = `
  SELECT ${utc('f.tick')} AS utc_us, f.boot_id, f.tick, CASE WHEN f.flags = 0 THEN f.count END AS count, f.flags, b.simulated,
    ${zeroCount} AS zero_count, p.zero_id AS zero_before, n.zero_id AS zero_after, n.utc_us - p.utc_us AS zeros_apart_us,
    k.cal_id, k.kind, k.c1, k.c2, k.arm_m, k.range_least, k.range_most
  FROM force_raw f JOIN boot b ON b.boot_id = f.boot_id ${piece('f')}
  LEFT JOIN calibration k ON k.cal_id = ${inForceSql('b.rig_id', 'load', 'f.boot_id', 'f.tick')}
  LEFT JOIN zero p ON p.zero_id = ${zeroBefore} AND k.cal_id = ${inForceSql('b.rig_id', 'load', 'p.boot_id', 'p.tick')}
  LEFT JOIN zero n ON n.zero_id = ${zeroAfter} AND k.cal_id = ${inForceSql('b.rig_id', 'load', 'n.boot_id', 'n.tick')}`;

/** d = c1 x + c2 x^2 for x, in the form that loses no digits where c2 is next to nothing. NULL beyond where the curve turns. */
const inverse = `CASE WHEN r.c1 * r.c1 + 4 * coalesce(r.c2, 0) * (r.count - r.zero_count) > 0 THEN
      2 * (r.count - r.zero_count) / (r.c1 + CASE WHEN r.c1 < 0 THEN -1 ELSE 1 END * sqrt(r.c1 * r.c1 + 4 * coalesce(r.c2, 0) * (r.count - r.zero_count))) END`;

const margin = `${BEYOND_SHARE} * (x.range_most - x.range_least)`;
const told = `CASE WHEN x.x BETWEEN x.range_least - ${margin} AND x.range_most + ${margin} THEN x.x END`;

export const torque = `
CREATE VIEW torque AS
-- Load cell conversions through the calibration in force and the zeros about them. torque_Nm about the shaft; force_N on the cell, where
-- the calibration was made there (kind force: torque is force times arm). zero_count: between the zero before and the one after, linear
-- in time; zero_source says so: between, before or after (there is only that one), or calibration (there is none: its own zero, of
-- its own day). A zero counts where the same calibration holds as for the conversion. verified: 1 with a zero on either side, at most
-- ${ZEROS_APART_h} h apart. extrapolated: 1 beyond the loads that were hung. Where torque_Nm is NULL reason says why: the converter's flag,
-- no_calibration, beyond (by more than a tenth of the calibrated range), or no_arm (kind force without a length).
SELECT x.utc_us, ${iso('x.utc_us')} AS t, x.boot_id, x.tick, x.count,
  CASE x.kind WHEN 'torque' THEN ${told} WHEN 'force' THEN ${told} * x.arm_m END AS torque_Nm,
  CASE WHEN x.kind = 'force' THEN ${told} END AS force_N,
  x.zero_count,
  CASE WHEN x.cal_id IS NULL THEN NULL WHEN x.zero_before IS NULL AND x.zero_after IS NULL THEN 'calibration'
    WHEN x.zero_before IS NULL THEN 'after' WHEN x.zero_after IS NULL THEN 'before' ELSE 'between' END AS zero_source,
  x.zero_before, x.zero_after, x.cal_id,
  x.cal_id IS NOT NULL AND coalesce(x.zeros_apart_us <= ${ZEROS_APART_h * 3600}e6, 0) AS verified,
  x.x < x.range_least OR x.x > x.range_most AS extrapolated,
  CASE WHEN x.flags <> 0 THEN ${bits('x.flags', ['desync', 'timeout', 'saturated', 'settling', 'late'])}
    WHEN x.cal_id IS NULL THEN 'no_calibration' WHEN ${told} IS NULL THEN 'beyond' WHEN x.kind = 'force' AND x.arm_m IS NULL THEN 'no_arm' END AS reason, x.simulated
FROM (SELECT r.*, ${inverse} AS x FROM (${read}) r) x;`;

const inRevolution = 'q.boot_id = p.boot_id AND q.tick > p.begins AND q.tick <= p.tick';

export const power = `
CREATE VIEW power AS
-- Shaft power of the whole revolution that ends at this edge: the mean of the torque read in it, times its speed. forces: how many
-- conversions it has; verified: as in torque, of the last of them. Where power_W is NULL reason says why: no_revolution (none ends
-- here without a loss), no_reading (no conversion in it), or what torque says.
SELECT p.utc_us, ${iso('p.utc_us')} AS t, p.boot_id, p.tick, 60e6 / p.period_us AS speed_rpm,
  (SELECT avg(q.torque_Nm) FROM torque q WHERE ${inRevolution}) AS torque_Nm,
  (SELECT avg(q.torque_Nm) FROM torque q WHERE ${inRevolution}) * ${2e6 * Math.PI} / p.period_us AS power_W,
  (SELECT count(*) FROM force_raw q WHERE ${inRevolution}) AS forces,
  coalesce((SELECT q.verified FROM torque q WHERE ${inRevolution} ORDER BY q.tick DESC LIMIT 1), 0) AS verified,
  CASE WHEN p.period_us IS NULL THEN 'no_revolution' WHEN NOT EXISTS (SELECT 1 FROM force_raw q WHERE ${inRevolution}) THEN 'no_reading'
    WHEN NOT EXISTS (SELECT 1 FROM torque q WHERE ${inRevolution} AND q.torque_Nm IS NOT NULL)
    THEN (SELECT q.reason FROM torque q WHERE ${inRevolution} ORDER BY q.tick DESC LIMIT 1) END AS reason, p.simulated
FROM (
  SELECT ${utc('e.tick')} AS utc_us, e.boot_id, e.tick, s.tick AS begins, (e.tick - s.tick) * ${us_per_tick} AS period_us, b.simulated
  FROM edge_raw e JOIN boot b ON b.boot_id = e.boot_id JOIN rig r ON r.rig_id = b.rig_id ${piece('e')}
  LEFT JOIN edge_raw s ON s.boot_id = e.boot_id AND s.tick = ${revolutionBefore}
) p;`;

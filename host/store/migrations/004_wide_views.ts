import { bits, iso, piece, us_per_tick, utc } from './002_views.js';
import type { Migration } from './index.js';

/** As in 002: every view flattens into key look-ups, so a range costs what it returns. */

const at = (r: string): string => `${utc(`${r}.tick`)} AS utc_us, ${iso(utc(`${r}.tick`))} AS t, ${r}.boot_id, ${r}.tick`;
const of = (table: string, r: string): string => `FROM ${table} ${r} JOIN boot b ON b.boot_id = ${r}.boot_id ${piece(r)}`;

/** MAX31855 datasheet, memory map: bits 31-18 thermocouple, 15-4 junction, both two's complement; host/sense/hot.ts says the same. */
const couple = '((h.word >> 18) - 16384 * (h.word >> 31))';
const junction = '(((h.word >> 4) & 4095) - 4096 * ((h.word >> 15) & 1))';
const hotFault = `CASE
    WHEN h.word = 0 THEN 'dead'
    WHEN h.word = 4294967295 THEN 'absent'
    WHEN h.word & ${(1 << 17) | (1 << 3)} OR (h.word & 65536 <> 0) <> (h.word & 7 <> 0) OR ${junction} NOT BETWEEN -640 AND 2000 THEN 'invalid'
    WHEN h.word & 1 THEN 'open'
    WHEN h.word & 2 THEN 'short_gnd'
    WHEN h.word & 4 THEN 'short_vcc' END`;

/** 64 conversions: all at 0 or all at 1023 is an end of the range, which limits and does not measure. */
const input = (name: string): string => `
  CASE WHEN w.${name}_sum > 0 AND w.${name}_sum < 65472 THEN w.${name}_sum / 65536.0 END AS ${name}_ratio,
  CASE WHEN w.${name}_sum = 0 THEN 'low_end' WHEN w.${name}_sum >= 65472 THEN 'high_end' END AS ${name}_fault,
  w.${name}_spread AS ${name}_spread_step, w.${name}_spread >= 2 AS ${name}_dithered`;

/** The newest row that cannot have counted the last pulse of f: written 10 ms before it, whatever held up its line. */
const rowBefore = `LEFT JOIN flow_raw p ON p.boot_id = f.boot_id
  AND p.tick = (SELECT max(q.tick) FROM flow_raw q WHERE q.boot_id = f.boot_id AND q.tick < f.pulse_tick - 20000)`;

export const wideViews: Migration = {
  number: 4,
  says: 'views of hot end, water, flow, mark and setting; boots that ran on an emulated chip',
  sql: `
CREATE VIEW hot AS
-- Hot end, as the thermocouple converter (MAX31855) says it: steps of 0.25 K and 0.0625 K. converter_C takes the couple
-- to be linear, so it is not the true temperature: that (ITS-90, with its uncertainty) comes with a calibration.
-- Both are NULL where fault is not: open, short_gnd, short_vcc (the couple); dead (all zeros: no supply or no wire), absent
-- (all ones: nothing answers), invalid (reserved bits, flags that contradict each other, a junction beyond -40 to 125 C).
SELECT utc_us, t, boot_id, tick, CASE WHEN fault IS NULL THEN couple / 4.0 END AS converter_C,
  CASE WHEN fault IS NULL THEN junction / 16.0 END AS junction_C, fault, simulated
FROM (SELECT ${at('h')}, ${couple} AS couple, ${junction} AS junction, ${hotFault} AS fault, b.simulated ${of('hot_raw', 'h')});

CREATE VIEW water AS
-- The four analog inputs. in: coolant in, out: coolant out, skin: spare thermistor, spare: spare input. ratio: of AVcc, the mean
-- of 64 conversions of 10 bits, 0 to 1; NULL with fault low_end or high_end where every conversion lay on an end of the range.
-- spread_step: largest less smallest of the 64, in steps of AVcc / 1024. The board adds no dither: dithered is 1 where the
-- input's own noise spans two steps or more, which for 64 samples of Gaussian noise takes about 0.3 step (standard deviation)
-- and leaves the mean within 0.1 step; where it is 0 the mean may be off by up to half a step, 0.0005.
SELECT ${at('w')},${['in', 'out', 'skin', 'spare'].map(input).join(',')}, b.simulated
${of('water_raw', 'w')};

CREATE VIEW flow AS
-- Pulses of the flow meter since reset. pulse_age_s: since the last one. pulse_rate_Hz: pulses over time, from the last pulse known
-- before the latest one to the latest; while the next is overdue it is at most 1 / pulse_age_s, and it is 0 when none came for 5 s
-- and for 3 times as long as one took. NULL: no pulse yet, one alone, or a minute between two. 0 is no proof of no flow: a meter
-- stops below its least flow.
SELECT utc_us, t, boot_id, tick, pulses,
  CASE WHEN n > 0 AND span_s <= 60 THEN
      CASE WHEN pulse_age_s > max(5, 3 * span_s / n) THEN 0.0 WHEN pulse_age_s > span_s / n THEN 1 / pulse_age_s ELSE n / span_s END
    WHEN pulse_age_s > 30 THEN 0.0 END AS pulse_rate_Hz,
  pulse_age_s, simulated
FROM (
  SELECT ${at('f')}, f.pulses, f.pulses - p.pulses AS n, (f.pulse_tick - p.pulse_tick) * ${us_per_tick} / 1e6 AS span_s,
    max(0, f.tick - f.pulse_tick) * ${us_per_tick} / 1e6 AS pulse_age_s, b.simulated
  ${of('flow_raw', 'f')} ${rowBefore}
);

CREATE VIEW mark AS
-- Presses of the button or the foot pedal, dated when it was pressed.
SELECT ${at('k')}, b.simulated
${of('mark_raw', 'k')};

CREATE VIEW setting AS
-- What the board answered about its settings. value: the one in force then, in the unit that the name ends with; NULL for an unknown key.
SELECT ${at('s')}, CASE s.key WHEN 1 THEN 'pickup_edge' WHEN 2 THEN 'water_period_ms' WHEN 3 THEN 'hot_period_ms' WHEN 4 THEN 'flow_period_ms' END AS setting,
  s.key, CASE WHEN s.result <> 1 THEN s.value END AS value,
  CASE s.result WHEN 0 THEN 'ok' WHEN 1 THEN 'unknown_key' WHEN 2 THEN 'out_of_range' ELSE 'unknown' END AS result, b.simulated
${of('setting_raw', 's')};

DROP VIEW boots;
CREATE VIEW boots AS
-- Stretches of board time, newest last. started is when the board was reset, by the host's clock at the first hello.
-- reset_cause has the word emulated where the chip was no chip.
SELECT b.boot_id, printf('%04X-%04X', b.board_id >> 16, b.board_id & 65535) AS board, b.board_boot, ${iso('b.started_utc_us')} AS started, b.simulated,
  (b.firmware >> 16) || '.' || ((b.firmware >> 8) & 255) || '.' || (b.firmware & 255) AS firmware,
  trim(${bits('b.reset_cause', ['power_on', 'external', 'brown_out', 'watchdog'])} || CASE WHEN b.reset_cause & 128 THEN ' emulated' ELSE '' END) AS reset_cause,
  r.magnets, r.name AS rig,
  coalesce((SELECT rows FROM tally t WHERE t.boot_id = b.boot_id AND t.stream = 'force'), 0) AS force_rows,
  coalesce((SELECT rows FROM tally t WHERE t.boot_id = b.boot_id AND t.stream = 'edge'), 0) AS edge_rows,
  (SELECT (max(t.tick_last) - b.tick_first) * 1.0 * b.cycles_per_tick / b.clock_Hz FROM tally t WHERE t.boot_id = b.boot_id) AS recorded_s,
  coalesce((SELECT sum(lost) FROM gap g WHERE g.boot_id = b.boot_id), 0) AS lost
FROM boot b JOIN rig r ON r.rig_id = b.rig_id;
`,
};

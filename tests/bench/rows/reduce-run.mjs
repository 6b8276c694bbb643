// A stored run of an hour (288 000 conversions, 60 000 revolutions) from rows to points and curve, against one bare scan of the same rows
// inside SQLite, which brings no row out of it.
import DatabaseFile from 'better-sqlite3';
import { systemClock } from '../../../dist/host/clock.js';
import { curveOf } from '../../../dist/host/cli/curve.js';
import { examine } from '../../../dist/host/reduce/points/find_points.js';
import { openToRead } from '../../../dist/host/store/read.js';
import { recordOf } from '../long_record.mjs';

/** Hours of record a second. A scan does nothing with its rows: what counts is that the ratio does not fall. */
export const row = { name: 'run -> points and curve', unit: 'h/s', peer: 'one scan of its rows in SQLite', target: 0.01 };

export const HOURS = 1;
const LEAST_points = 10;

export function prepare(side) {
  const { file, stretch } = recordOf(HOURS);
  return side === 'ours' ? () => reduced(file, stretch, HOURS) : scanned(file, HOURS);
}

/** @returns the hours that were reduced */
export function reduced(file, stretch, hours) {
  const record = openToRead(file, systemClock);
  const span = record.spans.read(stretch);
  const knowledge = record.spans.knowledge(stretch, span);
  record.close();
  const found = examine(span, knowledge);
  const { points } = curveOf([{ span, knowledge, found }], { leaveOut: [] });
  if (points.length < LEAST_points * hours) throw new Error(`only ${points.length} points in ${hours} h`);
  return hours;
}

const columns = {
  force_raw: ['tick', 'count', 'flags'],
  edge_raw: ['tick'],
  hot_raw: ['tick', 'word'],
  water_raw: ['tick', 'in_sum', 'out_sum', 'skin_sum', 'spare_sum', 'in_spread', 'out_spread', 'skin_spread', 'spare_spread'],
  flow_raw: ['tick', 'pulse_tick', 'pulses'],
};

function scanned(file, hours) {
  const db = new DatabaseFile(file, { readonly: true });
  const scans = Object.entries(columns).map(([table, names]) => db.prepare(`SELECT ${names.map((n) => `total(${n})`).join(', ')} FROM ${table}`));
  return () => {
    for (const scan of scans) scan.get();
    return hours;
  };
}

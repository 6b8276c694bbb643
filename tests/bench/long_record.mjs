// Hours of a simulated bench in a record: a sweep that is gone through again and again, as many rows as a small engine gives.
import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { rowsInOrder } from '../../dist/firmware/twin/depth/block.js';
import { SamplesBench } from '../../dist/firmware/twin/depth/samples.js';
import { systemClock } from '../../dist/host/clock.js';
import { openStore } from '../../dist/host/store/open.js';
import { knowledgeOf, teaselWith, US_PER_TICK } from '../../dist/tests/host/reduce/values/support/twin.js';
import { hello } from './traffic.mjs';

const HOLD_s = 300;
/** Brake settings near the light end: about 1000 rev/min on the mean. */
const SETTINGS = [0.02, 0.05, 0.1, 0.2, 0.35, 0.2, 0.1, 0.05];
const FROM_s = 600;
const SLICE_s = 300;
const ticksAt = (s) => Math.round((s * 1e6) / US_PER_TICK);

/** @returns the stretch with the sweeps, from when the bench is warm */
export function writeRecord(file, hours) {
  const to_s = FROM_s + 3600 * hours;
  const points = [];
  for (let i = 0; i * HOLD_s < to_s; i++) points.push({ t_s: i * HOLD_s, value: SETTINGS[i % SETTINGS.length] });
  const bench = new SamplesBench(teaselWith({ programme: { heat: { between: 'step', points: [{ t_s: 0, value: 1 }] }, brake: { between: 'step', points } } }), 4, { reuse: true });
  const store = openStore(file, { clock: systemClock });
  const { boot_id } = store.bootFor({ hello: { ...hello(), tick: 0 }, simulated: true, reset: true });
  store.setMagnets(hello().board_id, 4);
  store.writer.mapPiece({ boot_id, piece: 1, tick_from: 0, utc_us: 1.7e15, us_per_tick: US_PER_TICK, u_us: 50, u_ppm: 1 });
  for (let t_s = 0; t_s < to_s; ) {
    t_s = Math.min(to_s, t_s + SLICE_s);
    for (const { tick, message } of rowsInOrder(bench.run(t_s))) store.writer.message({ boot_id, tick, message });
    if (!store.writer.flush()) throw new Error(store.writer.state.reason);
  }
  const author = 'bench';
  for (const { channel, model } of Object.values(knowledgeOf().calibrations)) {
    store.records.calibrations.keep({ rig_id: 1, channel, from: { boot_id, tick: 0 }, to: null, model, data: null, author, remark: '', replaces: null });
  }
  for (const s of [10, to_s]) store.records.zeros.keep({ rig_id: 1, boot_id, tick: ticksAt(s), tick_from: ticksAt(s - 5), tick_to: ticksAt(s), count: -38_150, u_count: 3, n: 400, remark: '', author });
  store.close();
  return { boot_id, tick_from: ticksAt(FROM_s), tick_to: ticksAt(to_s) };
}

/** Written by the first trial that asks for it, into the folder that the bench gives to all trials and takes away at its end. */
export function recordOf(hours) {
  const folder = process.env.SMALLBRAKE_BENCH_FOLDER;
  if (folder === undefined) throw new Error('SMALLBRAKE_BENCH_FOLDER must name a folder: start it by run.mjs');
  const file = join(folder, `record-${hours}h.db`);
  const told = `${file}.json`;
  if (!existsSync(told)) {
    // In a process of its own: what it holds is none of the trial's memory.
    const { status, stderr } = spawnSync(process.execPath, [fileURLToPath(import.meta.url), file, String(hours), told], { encoding: 'utf8' });
    if (status !== 0) throw new Error(`the record could not be written: ${stderr}`);
  }
  return { file, stretch: JSON.parse(readFileSync(told, 'utf8')) };
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const [file, hours, told] = process.argv.slice(2);
  writeFileSync(told, JSON.stringify(writeRecord(file, Number(hours))));
}

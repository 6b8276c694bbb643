// What the daemon costs at full rate: `npm run -s build && node tests/bench/daemon_load.mjs [seconds]` prints JSON.
// Aims: under 3 % of a core and under 120 MB. The twin runs in a process of its own behind a pseudo-terminal.
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { useOf } from '../support/process_use.mjs';
import { boardAndDaemon, root } from './road.mjs';
import { load, machine } from './surroundings.mjs';

const SETTLE_s = 10;
const seconds = Number(process.argv[2] ?? 60);
const { url, pid } = await boardAndDaemon(undefined, ['--scenario', join(root, 'firmware/twin/scenarios/full-load.json')], ['--magnets', '12']);

const rows = async () => Object.values((await (await fetch(`${url}api/counts`)).json()).rows ?? {}).reduce((a, b) => a + b, 0);
await sleep(SETTLE_s * 1000);
const before = { ...useOf(pid), rows: await rows(), at: process.hrtime.bigint() };
await sleep(seconds * 1000);
const after = { ...useOf(pid), rows: await rows(), at: process.hrtime.bigint() };
const took_s = Number(after.at - before.at) / 1e9;
const round = (v, digits = 1) => Number(v.toFixed(digits));
const report = {
  seconds: round(took_s),
  rows_per_s: round((after.rows - before.rows) / took_s),
  cpu_percent_of_a_core: round((100 * (after.cpu_s - before.cpu_s)) / took_s, 2),
  rss_MB: round(after.rss_MB),
  rss_max_MB: round(after.rssMax_MB),
  load: load(),
  machine: machine(),
};
process.stdout.write(`${JSON.stringify(report, null, 1)}\n`);
process.exit(0);

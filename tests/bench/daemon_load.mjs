// What the daemon costs at full rate: `npm run -s build && node tests/bench/daemon_load.mjs [seconds]` prints JSON.
// Aims: under 3 % of a core and under 120 MB. The twin runs in a process of its own behind a pseudo-terminal.
import { spawn } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { useOf } from '../support/process_use.mjs';
import { load, machine } from './surroundings.mjs';

const SETTLE_s = 10;
const seconds = Number(process.argv[2] ?? 60);
const root = fileURLToPath(new URL('../../', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'smallbrake-bench-'));
const port = join(folder, 'board');
const ours = [];
const start = (program, args, stdio) => {
  const child = spawn(program, args, { stdio });
  ours.push(child);
  return child;
};
process.on('exit', () => {
  for (const child of ours) child.kill('SIGKILL');
  rmSync(folder, { recursive: true, force: true });
});

const socat = start('socat', [`PTY,raw,echo=0,link=${port},wait-slave`, 'STDIO'], ['pipe', 'pipe', 'inherit']);
while (!existsSync(port)) await sleep(20);
const daemon = start(
  process.execPath,
  [join(root, 'dist/host/cli/main.js'), 'serve', '--json', '--listen', '127.0.0.1:0', '--port', port, '--db', join(folder, 'record.db')],
  ['ignore', 'pipe', 'inherit'],
);
const [said] = await new Promise((done) => daemon.stdout.once('data', (text) => done([JSON.parse(String(text).split('\n')[0])])));
const scenario = join(root, 'firmware/twin/scenarios/full-load.json');
const twin = start(process.execPath, [join(root, 'dist/firmware/twin/main.js'), '--scenario', scenario, '--speed', '1'], ['pipe', 'pipe', 'ignore']);
twin.stdout.pipe(socat.stdin);
socat.stdout.pipe(twin.stdin);
while ((await fetch(`${said.url}health`)).status !== 200) await sleep(50);

const rows = async () => Object.values((await (await fetch(`${said.url}api/counts`)).json()).rows ?? {}).reduce((a, b) => a + b, 0);
await sleep(SETTLE_s * 1000);
const before = { ...useOf(daemon.pid), rows: await rows(), at: process.hrtime.bigint() };
await sleep(seconds * 1000);
const after = { ...useOf(daemon.pid), rows: await rows(), at: process.hrtime.bigint() };
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

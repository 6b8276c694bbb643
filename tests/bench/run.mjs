// `npm run bench`: each row against its peer, interleaved, every trial in a process of
// its own, the median of them all. With --json one array and nothing else on standard
// output. A missed target is told, and is no failure: only a crash ends it with 1.
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { load, machine, pragmas, versions } from './surroundings.mjs';

const ROWS = ['line-to-checked', 'bytes-to-dated', 'message-to-row', 'twin-to-real', 'twin-wire', 'twin-samples', 'reduce-run', 'reduce-long'];
const TRIALS_MIN = 5;
const trialFile = fileURLToPath(new URL('trial.mjs', import.meta.url));

const { values: options } = parseArgs({ options: { json: { type: 'boolean', default: false }, trials: { type: 'string', default: '5' }, row: { type: 'string' } } });
const trials = Number(options.trials);
if (!Number.isInteger(trials) || trials < TRIALS_MIN) throw new Error(`--trials ${options.trials}: must be a whole number from ${TRIALS_MIN} on`);
if (options.row !== undefined && !ROWS.includes(options.row)) throw new Error(`--row ${options.row}: must be one of ${ROWS.join(', ')}`);
// Records that take long to write are shared by all trials.
const folder = mkdtempSync(join(tmpdir(), 'smallbrake-bench-'));
process.on('exit', () => rmSync(folder, { recursive: true, force: true }));
const say = (text) => void (options.json ? process.stderr : process.stdout).write(`${text}\n`);

say(`machine:  ${machine()}\nversions: ${versions()}\npragmas:  ${pragmas()}\nload:     ${load()}; median of ${trials} trials, each in its own process, peer in between\n`);
const cell = (v, width) => String(v).padStart(width);
const round = (v) => (v >= 1000 ? Math.round(v) : Number(v.toPrecision(4)));
const spread = (all) => `${round(Math.min(...all))}..${round(Math.max(...all))}`;
say(`${'row'.padEnd(30)}${cell('unit', 9)}${cell('value', 12)}${cell('peer', 12)}${cell('ratio', 8)}${cell('target', 8)}   ratio by pair; peer`);

const table = [];
for (const file of options.row === undefined ? ROWS : [options.row]) {
  const { row } = await import(`./rows/${file}.mjs`);
  const ours = [];
  const peers = [];
  let peak_MB = 0;
  const measured = (t) => {
    peak_MB = Math.max(peak_MB, t.peak_MB);
    return t.value;
  };
  for (let i = 0; i < trials; i++) {
    // Whatever the machine does besides meets both alike; who goes first takes turns.
    const turns = [() => ours.push(measured(trial(file, 'ours'))), () => peers.push(row.peer === null ? 1 : trial(file, 'peer').value)];
    for (const turn of i % 2 === 0 ? turns : turns.reverse()) turn();
  }
  const [value, peer] = [median(ours), median(peers)];
  const done = { name: row.name, unit: row.unit, value: round(value), peer: round(peer), ratio: round(value / peer), target: row.target, peak_MB, machine: machine() };
  table.push(done);
  say(
    `${done.name.padEnd(30)}${cell(done.unit, 9)}${cell(done.value, 12)}${cell(done.peer, 12)}${cell(done.ratio.toFixed(2), 8)}${cell(done.target, 8)}` +
      `   ${spread(ours.map((v, i) => v / peers[i]))}; ${row.peer ?? 'real time'}; ${peak_MB} MB at most`,
  );
}

const missed = table.filter((r) => r.ratio < r.target);
say(missed.length === 0 ? '\nall targets met' : `\ntargets missed: ${missed.map((r) => `${r.name} (${r.ratio.toFixed(2)} of ${r.target})`).join(', ')}`);
if (options.json) process.stdout.write(`${JSON.stringify(table, null, 1)}\n`);

function trial(file, side) {
  const { status, signal, stdout, stderr } = spawnSync(process.execPath, ['--expose-gc', trialFile, file, side], { encoding: 'utf8', env: { ...process.env, SMALLBRAKE_BENCH_FOLDER: folder } });
  if (status !== 0) {
    process.stderr.write(stderr);
    throw new Error(`the trial ${file} ${side} ended with ${signal ?? status}`);
  }
  return JSON.parse(stdout);
}

function median(all) {
  const sorted = [...all].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[middle] : (sorted[middle - 1] + sorted[middle]) / 2;
}

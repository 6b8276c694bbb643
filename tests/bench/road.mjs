// A board behind a pseudo-terminal and the daemon, as the measures at full rate and those of the page have them.
import { spawn } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';

export const root = fileURLToPath(new URL('../../', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'smallbrake-bench-'));
const ours = [];
process.on('exit', () => {
  for (const child of ours) child.kill('SIGKILL');
  rmSync(folder, { recursive: true, force: true });
});

const start = (program, args, stdio) => {
  const child = spawn(program, args, { stdio });
  ours.push(child);
  return child;
};

/** @returns its pid and url, once it is live */
async function serve(args) {
  const daemon = start(process.execPath, [join(root, 'dist/host/cli/main.js'), 'serve', '--json', '--listen', '127.0.0.1:0', '--db', join(folder, 'record.db'), ...args], ['ignore', 'pipe', 'inherit']);
  const url = await new Promise((done) => daemon.stdout.once('data', (text) => done(JSON.parse(String(text).split('\n')[0]).url)));
  while ((await fetch(`${url}health`)).status !== 200) await sleep(50);
  return { pid: daemon.pid, url };
}

/**
 * The twin as a board at the end of a cable.
 * @param heard each line of it, when its last byte is handed to the cable; without it bytes go through as they come
 * @param args of the twin
 * @param told options of the daemon
 */
export async function boardAndDaemon(heard, args = [], told = []) {
  const port = join(folder, 'board');
  const socat = start('socat', [`PTY,raw,echo=0,link=${port},wait-slave`, 'STDIO'], ['pipe', 'pipe', 'inherit']);
  while (!existsSync(port)) await sleep(20);
  const twin = start(process.execPath, [join(root, 'dist/firmware/twin/main.js'), '--speed', '1', ...args], ['pipe', 'pipe', 'ignore']);
  socat.stdout.pipe(twin.stdin);
  if (heard === undefined) twin.stdout.pipe(socat.stdin);
  else {
    createInterface({ input: twin.stdout }).on('line', (line) => {
      socat.stdin.write(`${line}\n`);
      heard(line);
    });
  }
  return serve(['--port', port, ...told]);
}

export const twinAndDaemon = (speed) => serve(['--speed', String(speed), '--depth', 'wire']);

// A board behind a pseudo-terminal, the daemon, and the page in Debian's chromium: what the measures of the page share.
import { spawn } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createInterface } from 'node:readline';
import { setTimeout as sleep } from 'node:timers/promises';
import { fileURLToPath } from 'node:url';
import { chromium } from 'playwright-core';

const root = fileURLToPath(new URL('../../../', import.meta.url));
const folder = mkdtempSync(join(tmpdir(), 'smallbrake-page-'));
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

/** The twin as a board at the end of a cable. @param heard each line of it, when its last byte is handed to the cable */
export async function boardAndDaemon(heard) {
  const port = join(folder, 'board');
  const socat = start('socat', [`PTY,raw,echo=0,link=${port},wait-slave`, 'STDIO'], ['pipe', 'pipe', 'inherit']);
  while (!existsSync(port)) await sleep(20);
  const twin = start(process.execPath, [join(root, 'dist/firmware/twin/main.js'), '--speed', '1'], ['pipe', 'pipe', 'ignore']);
  socat.stdout.pipe(twin.stdin);
  createInterface({ input: twin.stdout }).on('line', (line) => {
    socat.stdin.write(`${line}\n`);
    heard(line);
  });
  return serve(['--port', port]);
}

export const twinAndDaemon = (speed) => serve(['--speed', String(speed), '--depth', 'wire']);

/** @param script runs in the page before anything of its own */
export async function openPage(url, script) {
  const asRoot = process.getuid?.() === 0;
  const browser = await chromium.launch({ executablePath: '/usr/bin/chromium', headless: true, args: asRoot ? ['--no-sandbox', '--disable-dev-shm-usage'] : [] });
  const page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
  if (script !== undefined) await page.addInitScript(script);
  await page.goto(url);
  await page.waitForFunction(() => /\d/.test(document.querySelector('#speed_rpm')?.textContent ?? ''), undefined, { polling: 100, timeout: 30_000 }).catch(() => undefined);
  return { browser, page };
}

export const quantile = (sorted, p) => sorted[Math.min(sorted.length - 1, Math.floor(p * sorted.length))];
export const round = (v, digits = 1) => Number(v.toFixed(digits));

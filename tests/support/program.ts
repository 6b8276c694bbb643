import { execFile, spawn } from 'node:child_process';
import type { ChildProcess } from 'node:child_process';
import { mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';

import { projectRoot } from './compile.js';

/** The compiled program: `npm test` builds it first. */
export const program = join(projectRoot, 'dist/host/cli/main.js');

export const tempFolder = (): string => mkdtempSync(join(tmpdir(), 'smallbrake ä '));

export interface Ran {
  readonly status: number;
  readonly stdout: string;
  readonly stderr: string;
}

/** Runs a command to its end, with a data folder of its own unless told. */
export function run(args: readonly string[], env: NodeJS.ProcessEnv = { XDG_DATA_HOME: tempFolder() }): Promise<Ran> {
  return new Promise((resolve) => {
    execFile(process.execPath, [program, ...args], { env: { ...process.env, ...env } }, (error, stdout, stderr) => {
      resolve({ status: error === null ? 0 : Number(error.code), stdout, stderr });
    });
  });
}

export class Serving {
  readonly child: ChildProcess;
  readonly data: string;
  stdout = '';
  stderr = '';
  url = '';
  db = '';
  readonly exited: Promise<number>;

  /** @param command another command that serves */
  constructor(args: readonly string[], data = tempFolder(), command: readonly string[] = ['serve']) {
    this.data = data;
    this.child = spawn(process.execPath, [program, ...command, '--json', '--listen', '127.0.0.1:0', ...args], {
      env: { ...process.env, XDG_DATA_HOME: data },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    this.child.stdout?.on('data', (chunk: Buffer) => (this.stdout += chunk.toString()));
    this.child.stderr?.on('data', (chunk: Buffer) => (this.stderr += chunk.toString()));
    this.exited = new Promise((resolve) => this.child.once('exit', (code, signal) => resolve(code ?? (signal === null ? -1 : -2))));
  }

  /** Waits until it has said where it listens. */
  async listening(): Promise<this> {
    await until(() => this.stdout.includes('\n') || this.child.exitCode !== null, 15_000, () => this.stderr);
    if (this.child.exitCode !== null) throw new Error(`ended at once: ${this.stderr}`);
    const said = JSON.parse(this.stdout.split('\n')[0] ?? '') as { url: string; db: string };
    this.url = said.url;
    this.db = said.db;
    return this;
  }

  async live(): Promise<this> {
    await this.listening();
    await until(async () => (await fetch(`${this.url}health`)).status === 200, 20_000, () => this.stderr);
    return this;
  }

  async get<T>(path: string): Promise<T> {
    return (await (await fetch(this.url + path)).json()) as T;
  }

  /** @returns exit status and how long it took */
  async stop(signal: NodeJS.Signals = 'SIGTERM'): Promise<{ status: number; took_ms: number }> {
    const start = process.hrtime.bigint();
    this.child.kill(signal);
    const status = await this.exited;
    return { status, took_ms: Number(process.hrtime.bigint() - start) / 1e6 };
  }
}

export async function until(done: () => boolean | Promise<boolean>, patience_ms: number, why: () => string = () => ''): Promise<void> {
  const end = process.hrtime.bigint() + BigInt(Math.round(patience_ms * 1e6));
  for (;;) {
    try {
      if (await done()) return;
    } catch {
      // Not yet.
    }
    if (process.hrtime.bigint() > end) throw new Error(`waited ${patience_ms} ms in vain: ${why()}`);
    await new Promise((r) => setTimeout(r, 30));
  }
}

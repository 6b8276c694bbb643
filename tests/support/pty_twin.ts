import { spawn } from 'node:child_process';
import type { ChildProcess } from 'node:child_process';
import { join } from 'node:path';

import { projectRoot } from './compile.js';
import { until } from './program.js';
import { existsSync } from 'node:fs';

export const twinProgram = join(projectRoot, 'dist/firmware/twin/main.js');

/**
 * A pseudo-terminal whose far end is a socat child: whatever is written to its
 * standard input comes out of `path`, and the other way round.
 */
export class Pty {
  readonly path: string;
  readonly socat: ChildProcess;

  constructor(path: string) {
    this.path = path;
    // Bytes wait until somebody has opened the near end.
    this.socat = spawn('socat', [`PTY,raw,echo=0,link=${path},wait-slave`, 'STDIO'], { stdio: ['pipe', 'pipe', 'inherit'] });
    this.socat.stdin?.on('error', () => undefined);
  }

  async ready(): Promise<this> {
    await until(() => existsSync(this.path), 5_000);
    return this;
  }

  /** Starts the twin's process at the far end. */
  twin(args: readonly string[]): ChildProcess {
    const child = spawn(process.execPath, [twinProgram, ...args], { stdio: ['pipe', 'pipe', 'pipe'] });
    const { stdin, stdout } = this.socat;
    if (stdin === null || stdout === null) throw new Error('socat has no pipes');
    child.stdout.pipe(stdin, { end: false });
    stdout.pipe(child.stdin, { end: false });
    child.stdin.on('error', () => undefined);
    child.stderr.resume();
    return child;
  }

  close(): void {
    this.socat.kill('SIGKILL');
  }
}

export const ended = (child: ChildProcess): Promise<void> =>
  child.exitCode !== null || child.signalCode !== null ? Promise.resolve() : new Promise((done) => child.once('exit', () => done()));

import { spawn } from 'node:child_process';
import type { ChildProcess } from 'node:child_process';
import { closeSync, constants, existsSync, openSync, readdirSync, readlinkSync, realpathSync, rmSync, symlinkSync } from 'node:fs';
import { join } from 'node:path';

import { twinProgram } from './pty_twin.js';
import { until } from './program.js';

const LF = 0x0a;
const NOBODY = -1;
/** What socat needs at most to hand on what it was given. */
const SOCAT_ms = 30;

/**
 * The cable between a twin that runs on and a serial port that comes and goes.
 * `path` is what the daemon is told, as a name by id is: a link that is pointed at
 * whatever name the port has now. What the twin says while nothing is plugged in, or
 * while nobody has the port open, is gone, as it is with an adapter.
 */
export class Wire {
  readonly path: string;
  /** Bytes that the twin has said, and of these the last one that was handed to the port. */
  said_bytes = 0;
  delivered_bytes = 0;
  #folder: string;
  #twin: ChildProcess | null = null;
  #socat: ChildProcess | null = null;
  /** Takes nothing any more, and is about to vanish. */
  #pulled: ChildProcess | null = null;
  #keeper: number | null = null;
  #port: string | null = null;
  #reader = NOBODY;
  #isOpen = false;
  #cut: (() => void) | null = null;

  constructor(folder: string) {
    this.#folder = folder;
    this.path = join(folder, 'port-by-id');
  }

  /** Starts a twin in the place of the one that was there; it goes on whatever happens to the port. */
  start(args: readonly string[]): ChildProcess {
    const twin = spawn(process.execPath, [twinProgram, ...args], { stdio: ['pipe', 'pipe', 'pipe'] });
    this.#twin = twin;
    twin.stdin.on('error', () => undefined);
    twin.stdout.on('data', (chunk: Buffer) => this.#say(chunk));
    return twin;
  }

  /** The port appears under this name. Resolves when it can be opened. */
  async plug(name = 'tty0'): Promise<void> {
    const port = join(this.#folder, name);
    const socat = spawn('socat', [`PTY,raw,echo=0,link=${port},wait-slave`, 'STDIO'], { stdio: ['pipe', 'pipe', 'inherit'] });
    socat.stdin.on('error', () => undefined);
    socat.stdout.on('data', (chunk: Buffer) => void this.#twin?.stdin?.write(chunk));
    await until(() => existsSync(port), 5_000);
    // Without it the port would hang up when its one reader is killed, which a real one does not.
    this.#keeper = openSync(port, constants.O_RDWR | constants.O_NOCTTY);
    await new Promise((r) => setTimeout(r, SOCAT_ms));
    this.#socat = socat;
    this.#port = port;
    rmSync(this.path, { force: true });
    symlinkSync(port, this.path);
  }

  /** Pulls it out between two bytes of one line. Resolves when the port has vanished. */
  async unplugInMidLine(): Promise<void> {
    await new Promise<void>((done) => (this.#cut = done));
    await new Promise((r) => setTimeout(r, SOCAT_ms));
    await this.unplug();
  }

  async unplug(): Promise<void> {
    const socat = this.#socat ?? this.#pulled;
    if (socat === null) return;
    this.#socat = this.#pulled = null;
    this.#isOpen = false;
    const gone = new Promise((done) => socat.once('exit', done));
    socat.kill('SIGKILL');
    if (this.#keeper !== null) closeSync(this.#keeper);
    this.#keeper = null;
    await gone;
    if (this.#port !== null) rmSync(this.#port, { force: true });
    rmSync(this.path, { force: true });
  }

  /** Puts bytes on the line that the twin did not say. */
  disturb(bytes: Buffer): void {
    this.#socat?.stdin?.write(bytes);
  }

  /** From now on the port is open when this process has opened it. */
  readBy(pid: number | undefined): void {
    this.#reader = pid ?? NOBODY;
    this.#isOpen = false;
  }

  async end(): Promise<void> {
    await this.unplug();
    this.#twin?.kill('SIGKILL');
  }

  #say(chunk: Buffer): void {
    const socat = this.#socat;
    this.#isOpen ||= this.#opened();
    let end = chunk.length;
    if (socat !== null && this.#isOpen && this.#cut !== null) {
      end = 1 + Math.floor(Math.random() * chunk.length);
      if (chunk[end - 1] === LF) end--;
      this.#cut();
      this.#cut = null;
      this.#socat = null;
      this.#pulled = socat;
    }
    if (socat !== null && this.#isOpen && end > 0) {
      socat.stdin?.write(chunk.subarray(0, end));
      this.delivered_bytes = this.said_bytes + end;
    }
    this.said_bytes += chunk.length;
  }

  #opened(): boolean {
    if (this.#reader === NOBODY || this.#port === null) return false;
    try {
      const device = realpathSync(this.#port);
      const fds = `/proc/${this.#reader}/fd`;
      return readdirSync(fds).some((fd) => linkOf(join(fds, fd)) === device);
    } catch {
      return false;
    }
  }
}

function linkOf(path: string): string {
  try {
    return readlinkSync(path);
  } catch {
    return '';
  }
}

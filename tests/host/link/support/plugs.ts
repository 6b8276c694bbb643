import { spawn } from 'node:child_process';
import type { ChildProcess } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { PassThrough } from 'node:stream';
import { SerialPortMock } from 'serialport';
import { systemClock } from '../../../../host/clock.js';
import type { BytePort } from '../../../../host/link/byte_port.js';
import { LockedPort } from '../../../../host/link/locked_port.js';
import { SerialBytePort } from '../../../../host/link/serial_port.js';
import { StreamBytePort } from '../../../../host/link/stream_port.js';
import type { ScriptedBoard } from './scripted_board.js';

/** A way to connect a scripted board: what the link suite is run over. */
export interface Plug {
  readonly label: string;
  make(): BytePort;
  /** Puts the plug in; the board's bytes flow once somebody opens the port. */
  plug(board: ScriptedBoard): Promise<void>;
  /** Pulls it, whatever is going on. */
  unplug(): Promise<void>;
  remove(): void;
}

/** A pair of in-process streams, as the built-in twin has them. */
export function memoryPlug(): Plug {
  let streams: { toHost: PassThrough; toBoard: PassThrough } | null = null;
  let plugged: ScriptedBoard | null = null;
  return {
    label: 'memory',
    make() {
      if (streams === null) throw new Error('no such device');
      return new StreamBytePort('memory', streams.toHost, streams.toBoard);
    },
    plug(board) {
      const { toHost, toBoard } = (streams = { toHost: new PassThrough(), toBoard: new PassThrough() });
      plugged = board;
      board.out = (bytes) => {
        if (!toHost.destroyed) toHost.write(bytes);
      };
      toBoard.on('data', (bytes: Buffer) => board.hear(bytes));
      return Promise.resolve();
    },
    unplug() {
      streams?.toHost.destroy();
      streams?.toBoard.destroy();
      streams = null;
      if (plugged !== null) plugged.out = null;
      return Promise.resolve();
    },
    remove() {
      void this.unplug();
    },
  };
}

let mockNumber = 0;

/** The serial library over its own mock of a system port. */
export function mockPlug(): Plug {
  const path = `/dev/mock${++mockNumber}`;
  let present = false;
  let opened: SerialPortMock | null = null;
  let plugged: ScriptedBoard | null = null;
  const binding = (): NonNullable<SerialPortMock['port']> | null => (opened?.isOpen === true ? (opened.port ?? null) : null);
  return {
    label: path,
    make: () =>
      new SerialBytePort(path, systemClock, (options) => {
        opened = new SerialPortMock(present ? options : { ...options, path: '/dev/unplugged' });
        const port = opened;
        port.on('open', () => {
          const open = binding();
          if (open === null) return;
          // The mock has no far end: what is written to it is watched.
          const write = open.write.bind(open);
          open.write = async (bytes: Buffer) => {
            await write(bytes);
            setImmediate(() => plugged?.hear(Buffer.from(bytes)));
          };
        });
        return port;
      }),
    plug(board) {
      SerialPortMock.binding.createPort(path, { maxReadSize: 37 });
      present = true;
      plugged = board;
      board.out = (bytes) => binding()?.emitData(Buffer.from(bytes));
      return Promise.resolve();
    },
    unplug() {
      present = false;
      if (plugged !== null) plugged.out = null;
      // What the stream does when the system's read fails.
      if (opened?.isOpen === true) opened._disconnected(new Error('ENXIO: no such device or address, read'));
      return Promise.resolve();
    },
    remove() {
      void this.unplug();
    },
  };
}

/** A real pseudo-terminal through the real library, behind a real lock file; socat holds the far end. */
export function ptyPlug(): Plug {
  const folder = mkdtempSync(join(tmpdir(), 'smallbrake-pty-'));
  const path = join(folder, 'board');
  let child: ChildProcess | null = null;
  const gone = async (): Promise<void> => {
    const old = child;
    child = null;
    if (old === null || old.exitCode !== null || old.signalCode !== null) return;
    const exited = new Promise((resolve) => old.once('exit', resolve));
    old.kill('SIGKILL');
    await exited;
    rmSync(path, { force: true });
  };
  return {
    label: path,
    make: () => new LockedPort(new SerialBytePort(path, systemClock), folder),
    async plug(board) {
      await gone();
      const started = (child = spawn('socat', [`PTY,raw,echo=0,link=${path}`, 'STDIO'], { stdio: ['pipe', 'pipe', 'inherit'] }));
      started.stdin.on('error', () => undefined);
      started.stdout.on('data', (bytes: Buffer) => board.hear(bytes));
      board.out = (bytes) => {
        if (started.stdin.writable) started.stdin.write(bytes);
      };
      while (!existsSync(path)) await new Promise((resolve) => setTimeout(resolve, 5));
    },
    async unplug() {
      await gone();
    },
    remove() {
      child?.kill('SIGKILL');
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

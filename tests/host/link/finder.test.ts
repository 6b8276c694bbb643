import { spawn } from 'node:child_process';
import { existsSync, mkdtempSync, readdirSync, rmSync, symlinkSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, it } from 'vitest';
import { serialCandidates } from '../../../host/link/candidates.js';
import { portChoice, portsToTry } from '../../../host/link/finder.js';
import type { SeenPort } from '../../../host/link/finder.js';
import { LockedPort } from '../../../host/link/locked_port.js';
import type { BytePort } from '../../../host/link/byte_port.js';
import { takeLockFile } from '../../../host/lock_file.js';

const seen = (path: string, likely = true): SeenPort => ({ path, likely, maker: null, usb: null, serialNumber: null });
const ports = [seen('/dev/ttyS0', false), seen('/dev/ttyUSB0'), seen('/dev/ttyACM3'), seen('/dev/ttyUSB1')];

describe('which port', () => {
  it('takes the named one and no other, present or not, and none when told none', () => {
    expect(portsToTry(portChoice('/dev/ttyS0'), ports, [], [])).toEqual(['/dev/ttyS0']);
    expect(portsToTry(portChoice('COM7'), ports, [], [])).toEqual(['COM7']);
    expect(portsToTry(portChoice('none'), ports, [], [])).toEqual([]);
  });

  it('tries the places of known boards first, then other USB ports, never built-in or forbidden ones', () => {
    const known = [
      { board_id: 1, last_path: '/dev/ttyUSB1' },
      { board_id: 2, last_path: '/dev/gone' },
      { board_id: 3, last_path: '/dev/ttyS0' },
    ];
    expect(portsToTry(portChoice('auto'), ports, known, [])).toEqual(['/dev/ttyUSB1', '/dev/ttyS0', '/dev/ttyUSB0', '/dev/ttyACM3']);
    expect(portsToTry(portChoice('auto'), ports, known, ['/dev/ttyUSB1', '/dev/ttyACM3'])).toEqual(['/dev/ttyS0', '/dev/ttyUSB0']);
    expect(portsToTry(portChoice('auto'), ports, [], [])).not.toContain('/dev/ttyS0');
  });
});

describe('locks', () => {
  let folder: string;
  beforeEach(() => (folder = mkdtempSync(join(tmpdir(), 'smallbrake-lock-'))));
  afterEach(() => rmSync(folder, { recursive: true, force: true }));

  const touched: string[] = [];
  const portAt = (path: string): BytePort => ({
    label: path,
    remark: null,
    open: () => {
      touched.push(path);
      return path.endsWith('broken') ? Promise.reject(new Error('broken')) : Promise.resolve();
    },
    write: () => true,
    close: () => Promise.resolve(),
  });
  const events = { data: () => undefined, closed: () => undefined };

  it('keeps a second opening off the port before it is touched, also under another name, and lets go at the close', async () => {
    const device = join(folder, 'ttyUSB0');
    writeFileSync(device, '');
    symlinkSync(device, join(folder, 'by-id'));
    const first = new LockedPort(portAt(device), folder);
    await first.open(events);
    touched.length = 0;
    const second = new LockedPort(portAt(join(folder, 'by-id')), folder);
    await expect(second.open(events)).rejects.toMatchObject({ code: 'PORT_TAKEN', values: { pid: process.pid } });
    await second.close();
    expect(touched).toEqual([]);
    await first.close();
    await second.open(events);
    await second.close();
    expect(readdirSync(folder).filter((name) => name.includes('lock'))).toEqual([]);
  });

  it('lets go when the open fails', async () => {
    const port = new LockedPort(portAt('/dev/broken'), folder);
    await expect(port.open(events)).rejects.toThrow('broken');
    expect(readdirSync(folder)).toEqual([]);
  });

  it('respects a living process, and takes over from one that was killed or whose number now belongs to another', async () => {
    const file = join(folder, 'x.lock');
    const child = spawn(process.execPath, ['-e', 'setTimeout(() => undefined, 60000)'], { stdio: 'ignore' });
    const ended = new Promise((resolve) => child.once('exit', resolve));
    writeFileSync(file, JSON.stringify({ pid: child.pid, began: '' }));
    expect(takeLockFile(file)).toEqual({ taken: false, pid: child.pid });
    writeFileSync(file, JSON.stringify({ pid: child.pid, began: 'another boot:1' }));
    const lock = takeLockFile(file);
    expect(lock.taken).toBe(existsSync('/proc/self/stat'));
    if (lock.taken) lock.release();
    writeFileSync(file, JSON.stringify({ pid: child.pid, began: '' }));
    child.kill('SIGKILL');
    await ended;
    const after = takeLockFile(file);
    expect(after.taken).toBe(true);
    expect(takeLockFile(file)).toEqual({ taken: false, pid: process.pid });
    if (after.taken) after.release();
    writeFileSync(file, 'half a li');
    expect(takeLockFile(file).taken).toBe(true);
  });

  it('finds a named port only, and does not open it', async () => {
    const find = serialCandidates({ choice: portChoice('/dev/ttyNONE'), known: () => [], never: [], stateFolder: folder });
    expect(await find()).toMatchObject([{ label: '/dev/ttyNONE', simulated: false, named: true }]);
    expect(await serialCandidates({ choice: portChoice('none'), known: () => [], never: [], stateFolder: folder })()).toEqual([]);
    expect(readdirSync(folder)).toEqual([]);
  });
});

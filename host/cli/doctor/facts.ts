import { accessSync, constants, existsSync, mkdirSync, readdirSync, readFileSync, statSync } from 'node:fs';
import { basename, join } from 'node:path';

import { reasonOf } from '../../errors.js';
import { lockHolder } from '../../lock_file.js';
import { portLockFile } from '../../link/locked_port.js';
import { listSerialPorts } from '../../link/serial_port.js';
import { freeBytes } from '../../store/disk.js';
import { rivalPrograms } from './machine.js';
import type { MachineFacts, PortFact } from './machine.js';

/** Looks at this machine; opens no port and starts no program but what lists the ports. */
export async function machineFacts(folder: string, dbs: readonly string[]): Promise<MachineFacts> {
  const folderTrouble = writable(folder);
  const ports = await listSerialPorts().catch(() => []);
  return {
    node: process.version,
    platform: process.platform,
    arch: process.arch,
    folder,
    folderTrouble,
    free_bytes: freeBytes(folder),
    ports: ports.map(({ path, likely, maker }): PortFact => ({ path, likely, maker, ...rightsOf(path), latency_ms: latencyOf(path), heldBy: lockHolder(portLockFile(folder, path)) })),
    rivals: rivalsRunning(),
    writers: dbs.flatMap((db) => {
      const pid = lockHolder(`${db}.lock`);
      return pid === null ? [] : [{ db, pid }];
    }),
  };
}

function writable(folder: string): string | null {
  try {
    mkdirSync(folder, { recursive: true });
    accessSync(folder, constants.R_OK | constants.W_OK | constants.X_OK);
    return null;
  } catch (thrown) {
    return reasonOf(thrown);
  }
}

function rightsOf(path: string): Pick<PortFact, 'allowed' | 'group'> {
  try {
    accessSync(path, constants.R_OK | constants.W_OK);
    return { allowed: true, group: null };
  } catch {
    return { allowed: false, group: groupOf(path) };
  }
}

function groupOf(path: string): string | null {
  try {
    const gid = String(statSync(path).gid);
    const line = readFileSync('/etc/group', 'utf8').split('\n').find((l) => l.split(':')[2] === gid);
    return line?.split(':')[0] ?? gid;
  } catch {
    return null;
  }
}

function latencyOf(path: string): number | null {
  try {
    return Number(readFileSync(join('/sys/bus/usb-serial/devices', basename(path), 'latency_timer'), 'latin1'));
  } catch {
    return null;
  }
}

/** By the names in /proc; none where there is no such folder. @param proc for tests */
export function rivalsRunning(proc = '/proc'): string[] {
  if (!existsSync(proc)) return [];
  const names = readdirSync(proc)
    .filter((name) => /^\d+$/.test(name))
    .map((pid) => {
      try {
        return readFileSync(join(proc, pid, 'comm'), 'latin1').trim();
      } catch {
        // It has ended in the meantime.
        return '';
      }
    });
  return Object.keys(rivalPrograms).filter((name) => names.includes(name));
}

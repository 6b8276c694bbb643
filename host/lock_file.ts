import { linkSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';

interface Holder {
  readonly pid: number;
  /** When that process began: a later process may get the same number. */
  readonly began: string;
}

export type LockAttempt =
  | { readonly taken: true; readonly release: () => void }
  | { readonly taken: false; readonly pid: number | null };

const heldHere = new Set<string>();
const ATTEMPTS = 3;

/**
 * Takes a lock that is a file with the holder's process number in it. One whose
 * process is gone (killed, power cut) is taken over.
 * @throws the file system's own error when the folder cannot be written
 */
export function takeLockFile(file: string): LockAttempt {
  const mine = `${file}.${process.pid}`;
  writeFileSync(mine, JSON.stringify({ pid: process.pid, began: beganOf(process.pid) } satisfies Holder));
  try {
    for (let attempt = 0; attempt < ATTEMPTS; attempt++) {
      try {
        // link(2) makes the file with its content at once, or fails: a lock is never seen half written.
        linkSync(mine, file);
        heldHere.add(file);
        return { taken: true, release: () => release(file) };
      } catch (thrown) {
        if ((thrown as NodeJS.ErrnoException).code !== 'EEXIST') throw thrown;
      }
      const holder = read(file);
      if (holder !== null && lives(holder, file)) return { taken: false, pid: holder.pid };
      moveAside(file, holder);
    }
    return { taken: false, pid: read(file)?.pid ?? null };
  } finally {
    rmSync(mine, { force: true });
  }
}

/** The process that holds the lock now, looked at and not touched; null: none. */
export function lockHolder(file: string): number | null {
  const holder = read(file);
  return holder !== null && lives(holder, file) ? holder.pid : null;
}

function release(file: string): void {
  if (heldHere.delete(file)) rmSync(file, { force: true });
}

/** Moved before it is deleted: of two processes that find one stale lock, only one moves it. */
function moveAside(file: string, stale: Holder | null): void {
  const aside = `${file}.stale.${process.pid}`;
  try {
    renameSync(file, aside);
  } catch {
    return;
  }
  const moved = read(aside);
  if (moved !== null && (moved.pid !== stale?.pid || moved.began !== stale.began)) {
    try {
      linkSync(aside, file);
    } catch {
      // A third one holds it by now: it is not ours either way.
    }
  }
  rmSync(aside, { force: true });
}

function read(file: string): Holder | null {
  try {
    const { pid, began } = JSON.parse(readFileSync(file, 'utf8')) as Partial<Holder>;
    return typeof pid === 'number' && Number.isInteger(pid) && pid > 0 ? { pid, began: String(began) } : null;
  } catch {
    return null;
  }
}

function lives(holder: Holder, file: string): boolean {
  if (holder.pid === process.pid) return heldHere.has(file);
  try {
    process.kill(holder.pid, 0);
  } catch (thrown) {
    return (thrown as NodeJS.ErrnoException).code === 'EPERM';
  }
  const began = beganOf(holder.pid);
  return began === '' || holder.began === '' || began === holder.began;
}

/** The machine's boot and the process's start in it (proc(5), stat field 22); '' where there is no /proc. */
function beganOf(pid: number): string {
  try {
    const stat = readFileSync(`/proc/${pid}/stat`, 'latin1');
    // The second field, a name, may hold blanks and brackets.
    const fields = stat.slice(stat.lastIndexOf(')') + 2).split(' ');
    // Killed, and its parent has not asked how it ended (a container without an init): it holds nothing any more.
    if (fields[0] === 'Z' || fields[0] === 'X') return 'ended';
    return `${readFileSync('/proc/sys/kernel/random/boot_id', 'latin1').trim()}:${fields[19] ?? ''}`;
  } catch {
    return '';
  }
}

import { spawn } from 'node:child_process';
import { constants, setPriority } from 'node:os';

import type { Runner } from '../serve/work_desk.js';

/** Of what a command says beside its data, this much is kept. */
const SAID_MAX = 20_000;

/** Runs this program again beside the daemon, on the same record, and yields to it. @param main path of this program */
export function workRunner(main: string, dbFile: string): Runner {
  return (words, most_bytes) => {
    const at = words.indexOf('--');
    const child = spawn(process.execPath, [main, ...words.slice(0, at), `--db=${dbFile}`, ...words.slice(at)], { stdio: ['ignore', 'pipe', 'pipe'] });
    if (child.pid !== undefined) lower(child.pid);
    const out: Buffer[] = [];
    let bytes = 0;
    let large = false;
    let err = '';
    child.stdout.on('data', (part: Buffer) => {
      bytes += part.length;
      if (bytes <= most_bytes) out.push(part);
      else if (!large) {
        large = true;
        child.kill('SIGKILL');
      }
    });
    child.stderr.setEncoding('utf8').on('data', (part: string) => (err = (err + part).slice(-SAID_MAX)));
    return {
      ended: new Promise((done) => {
        child.once('error', (thrown) => done({ exit: 1, out: '', err: thrown.message, large: false }));
        child.once('close', (exit) => done({ exit, out: large ? '' : Buffer.concat(out).toString('utf8'), err, large }));
      }),
      // It only reads, or asks the daemon to write: nothing is left half done.
      kill: () => void child.kill('SIGKILL'),
    };
  };
}

function lower(pid: number): void {
  try {
    setPriority(pid, constants.priority.PRIORITY_LOW);
  } catch {
    // It has ended already, or the system does not allow it.
  }
}

import { randomBytes } from 'node:crypto';
import { chmodSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname } from 'node:path';

import { fail, reasonOf } from '../errors.js';

const BITS = 128;
const WRITTEN = /^[0-9a-f]{32}$/;

/**
 * The token of this bench: made once, for the eyes of whoever runs it alone. To make every link void, delete the file.
 * @throws CANNOT_WRITE
 */
export function tokenIn(file: string): string {
  const kept = read(file);
  if (kept !== null) return kept;
  const token = randomBytes(BITS / 8).toString('hex');
  try {
    mkdirSync(dirname(file), { recursive: true });
    writeFileSync(file, `${token}\n`, { mode: 0o600 });
    // A file that was there keeps the rights that it had.
    chmodSync(file, 0o600);
  } catch (thrown) {
    throw fail('CANNOT_WRITE', { file, reason: reasonOf(thrown) }, thrown);
  }
  return token;
}

function read(file: string): string | null {
  try {
    const text = readFileSync(file, 'utf8').trim();
    return WRITTEN.test(text) ? text : null;
  } catch {
    return null;
  }
}

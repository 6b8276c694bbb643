import { accessSync, appendFileSync, constants, existsSync } from 'node:fs';
import { delimiter, join } from 'node:path';

/**
 * Whether a program of a Debian package is there. Where it is not, the suite that
 * asked is skipped by name, and the runner counts it and says what to install.
 */
export function needTool(program: string, packages: string, suite = program): boolean {
  const found = (process.env['PATH'] ?? '').split(delimiter).some((folder) => isExecutable(join(folder, program)));
  if (!found) noteSkip(suite, `apt-get install ${packages}`);
  return found;
}

export function needHeader(path: string, packages: string, suite = path): boolean {
  const found = existsSync(path);
  if (!found) noteSkip(suite, `apt-get install ${packages}`);
  return found;
}

/** @param remedy what to do so that the suite runs, such as "run the tests as root" */
export function noteSkip(suite: string, remedy: string): void {
  const file = process.env['SMALLBRAKE_SKIPS'];
  if (file !== undefined) appendFileSync(file, `skipped: ${suite}: ${remedy}\n`);
}

function isExecutable(path: string): boolean {
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
}

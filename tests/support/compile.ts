import { execFileSync } from 'node:child_process';
import { mkdirSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';

export const projectRoot = fileURLToPath(new URL('../../', import.meta.url));
export const outFolder = join(projectRoot, 'tests', 'out');

/** Compiles C files (paths from the project's root) with the host compiler; returns the program's path. */
export function compileHost(name: string, sources: readonly string[], flags: readonly string[] = []): string {
  mkdirSync(outFolder, { recursive: true });
  const program = join(outFolder, name);
  execFileSync(
    'gcc',
    ['-std=c11', '-O2', '-g', '-Wall', '-Wextra', '-Wconversion', '-Werror', '-Ifirmware/src', ...flags, '-o', program, ...sources],
    { cwd: projectRoot, stdio: ['ignore', 'inherit', 'inherit'] },
  );
  return program;
}

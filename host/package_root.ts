import { existsSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

/** Folder of package.json, from the sources as from dist/: where the committed .hex, the schemas and the version lie. */
export function packageRoot(): string {
  let folder = dirname(fileURLToPath(import.meta.url));
  while (!existsSync(join(folder, 'package.json'))) {
    const above = dirname(folder);
    if (above === folder) throw new Error('no package.json above the program');
    folder = above;
  }
  return folder;
}

/** As package.json has it. */
export function programVersion(): string {
  return (JSON.parse(readFileSync(join(packageRoot(), 'package.json'), 'utf8')) as { version: string }).version;
}

/** The only file in protocol/ that touches the disk: `npm run generate`. */
import { writeFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

import { cHeader } from './gen/c_header.js';
import { cSource } from './gen/c_source.js';
import { referencePage } from './gen/page.js';
import { tsReaders } from './gen/ts_readers.js';
import { vectorsFile } from './gen/vectors.js';
import { messages } from './messages.js';
import type { MessageDef } from './messages.js';

/** Pure: schema -> text by path from the project's root. */
export function generateFiles(defs: readonly MessageDef[] = messages): Map<string, string> {
  return new Map([
    ['firmware/src/wire.gen.h', cHeader(defs)],
    ['firmware/src/wire.gen.c', cSource(defs)],
    ['protocol/PROTOCOL.md', referencePage(defs)],
    ['protocol/readers.gen.ts', tsReaders(defs)],
    ['protocol/vectors.json', vectorsFile(defs)],
  ]);
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  for (const [path, text] of generateFiles()) writeFileSync(path, text);
}

import { readFileSync } from 'node:fs';
import { join } from 'node:path';

import { expect, it } from 'vitest';

import { generateFiles } from '../../protocol/generate.js';
import { projectRoot } from '../support/compile.js';

it.each([...generateFiles().keys()])('%s is what the generator writes today (else: npm run generate)', (path) => {
  expect(readFileSync(join(projectRoot, path), 'utf8')).toBe(generateFiles().get(path));
});

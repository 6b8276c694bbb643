import { execFileSync } from 'node:child_process';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';

import { expect, it } from 'vitest';

import { projectRoot } from '../support/compile.js';

/** Many objects that live on for a while: what makes the space for new ones grow. @returns its size in the end, MB */
const churn = `
  let kept = [];
  for (let i = 0; i < 3e6; i++) {
    kept.push({ i });
    if (kept.length > 20000) kept = kept.slice(10000);
  }
  console.log((await import('node:v8')).getHeapSpaceStatistics().find((s) => s.space_name === 'new_space').space_size / 1e6);
`;
const spaceAfter_MB = (first: string): number => Number(execFileSync(process.execPath, ['--input-type=module', '-e', `${first}\n${churn}`], { encoding: 'utf8' }));

it('the space for new objects stays small in the daemon, and would not without it', () => {
  const module = pathToFileURL(join(projectRoot, 'dist/host/small_heap.js')).href;
  expect(spaceAfter_MB(`await import(${JSON.stringify(module)});`)).toBeLessThan(4);
  expect(spaceAfter_MB('')).toBeGreaterThan(16);
});

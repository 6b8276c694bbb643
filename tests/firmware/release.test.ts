import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';

import { describe, expect, it } from 'vitest';

import { projectRoot } from '../support/compile.js';
import { needTool } from '../support/need.js';

const RELEASE_COMPILER = 'avr-gcc (GCC) 5.4.0';

describe.skipIf(!needTool('avr-gcc', 'gcc-avr avr-libc', 'firmware rebuild'))('the committed firmware', () => {
  it('is what this source builds, byte for byte, within its budgets', { timeout: 60_000 }, () => {
    const compiler = execFileSync('avr-gcc', ['--version'], { encoding: 'utf8' }).split('\n')[0];
    if (compiler !== RELEASE_COMPILER) {
      throw new Error(`release/ was built with ${RELEASE_COMPILER}, here is ${compiler ?? 'none'}: bytes cannot be compared`);
    }
    const build = join(projectRoot, 'firmware');
    execFileSync('make', ['-C', build, 'clean'], { stdio: 'ignore' });
    execFileSync('make', ['-C', build, 'all'], { stdio: 'ignore' });
    for (const file of ['smallbrake.hex', 'report.txt']) {
      expect(readFileSync(join(build, 'build', file), 'utf8')).toBe(readFileSync(join(build, 'release', file), 'utf8'));
    }
  });
});

describe('the firmware source', () => {
  it('turns interrupts on and off in main.c only, elsewhere through atomic blocks', () => {
    const bare = execFileSync('grep', ['-lE', '\\b(cli|sei)\\(\\)', '-r', 'firmware/src'], { cwd: projectRoot, encoding: 'utf8' });
    expect(bare.trim().split('\n')).toEqual(['firmware/src/main.c']);
  });

  it('has no allocation, formatted output, float or unbounded stack', () => {
    let found = '';
    try {
      found = execFileSync('grep', ['-nE', '\\b(malloc|calloc|printf|sprintf|float|double|alloca)\\b', '-r', 'firmware/src'], {
        cwd: projectRoot,
        encoding: 'utf8',
      });
    } catch {
      // grep exits 1 when it finds nothing.
    }
    expect(found).toBe('');
  });
});

import { execFileSync } from 'node:child_process';

import { describe, expect, it } from 'vitest';

import { compileHost } from '../support/compile.js';
import { needTool } from '../support/need.js';

describe.skipIf(!needTool('gcc', 'gcc', 'firmware units on the host'))('firmware units without registers', () => {
  it('do what their headers say', () => {
    const program = compileHost(
      'firmware_unit',
      ['tests/firmware/c/unit.c', ...['assemble', 'judge', 'record', 'settings', 'wire.gen'].map((n) => `firmware/src/${n}.c`)],
      ['-fsanitize=address,undefined', '-fno-sanitize-recover=all'],
    );
    expect(execFileSync(program, { encoding: 'utf8' })).toMatch(/^\d{4,} checks, 0 failed\n$/);
  });
});

import { execFileSync } from 'node:child_process';

import { describe, expect, it } from 'vitest';

import { compileHost, projectRoot } from '../support/compile.js';
import { needTool } from '../support/need.js';

const TRIES = 10_000_000;

describe.skipIf(!needTool('gcc', 'gcc', 'random lines by C and TypeScript'))('ten million random lines', () => {
  it('are accepted at 2^-16, the same ones by C and by TypeScript', { timeout: 120_000 }, () => {
    const program = compileHost('random_lines', ['tests/protocol/c/random_lines.c', 'firmware/src/wire.gen.c']);
    const byC = execFileSync(program, [String(TRIES)], { cwd: projectRoot, encoding: 'utf8' }).trim();
    const byTypeScript = execFileSync(process.execPath, ['tests/protocol/random_lines.mjs', String(TRIES)], { cwd: projectRoot, encoding: 'utf8' }).trim();
    expect(byTypeScript).toBe(byC);
    const accepted = Number(byC.split(' ')[0]);
    const expected = TRIES / 65536;
    // Poisson: five standard deviations either side.
    expect(Math.abs(accepted - expected)).toBeLessThan(5 * Math.sqrt(expected));
  });
});
